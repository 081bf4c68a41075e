"""What a block's page carries from the plan, and that only the day's own is left blank."""

import json
import shutil
import subprocess

import pandas as pd
import pytest
from shapely import Point, box

from pipeline.pages.packet.block_page import DECIDED_ON_SITE
from pipeline.pages.packet.crew_facts import weather_limits
from pipeline.pages.packet.packet_pages import packet_pages
from pipeline.write.pages import packet_pdf
from tests.made_packet import CRS, block_frames, layer, rectangle_m

pytest.importorskip("typst", reason="the optional extra pdf is not installed")


def setting(name, value, origin="property_file"):
    told = {"section": "weather", "setting": name, "value": value, "origin": origin}
    return told | {"meaning": "made", "reference": "made"}


def fuel(unit, **cells):
    shape = rectangle_m(1000, 600)
    known = {
        "load_date": "2026-10-06",
        "load_class": "carries",
        "spring_load_low_lb_ac": 1119.0,
        "spring_load_lb_ac": 1732.4,
        "spring_load_high_lb_ac": 3332.5,
        "burn_from": "2027-03-01",
        "burn_until_low": None,
        "burn_until": "2027-05-30",
        "burn_until_high": "2027-06-08",
        "reason": "own_temperatures",
        "sward_from": "survey",
        **dict.fromkeys(("carries", "carries_low", "carries_high"), "yes"),
        "continuity": "even",
    }
    return {"unit_id": unit} | known | cells, shape


def page_of(frames):
    return packet_pages(frames, paper="letter")["blocks"][0]


def with_fuel(*told, **layers):
    rows, shapes = zip(*told, strict=True)
    frames = block_frames(unit="U10, U2") | {"fuel": layer("fuel", rows, shapes)} | layers
    both = [frames["units"].assign(unit_id=unit) for unit in ("U10", "U2")]
    return frames | {"units": pd.concat(both)}


def test_fuel_its_day_last_burn_and_window_stand_unit_by_unit():
    burned = {"unit_id": "U2", "record": "on_record", "last_burn": "2024-04-09"}
    shape = rectangle_m(1000, 600)
    frames = with_fuel(
        fuel("U2"),
        fuel(
            "U10",
            load_class="heavy",
            burn_until_low="2027-05-19",
            burn_until_early="2027-05-20",
            burn_until_late="2027-06-09",
        ),
        fuel("U3", load_class="patchy"),
        history=layer("history", [burned], [shape]),
    )
    page = page_of(frames)
    assert page["units"] == "U2, U10"
    assert page["fuel"]["rows"] == [
        [
            "U2",
            "carries",
            "1,732 (1,119 to 3,333)",
            "2026-10-06",
            "2024-04-09",
            "2027-03-01",
            "–",
            "2027-05-30",
            "2027-06-08",
        ],
        [
            "U10",
            "heavy: look at the widths of the breaks again",
            "1,732 (1,119 to 3,333)",
            "2026-10-06",
            "none on record",
            "2027-03-01",
            "2027-05-19",
            "2027-05-30 (05-20 to 06-09)",
            "2027-06-08",
        ],
    ]
    assert "no permission to light anything" in page["fuel_note"]


def test_unit_without_a_measurement_says_what_it_needs():
    nothing = dict.fromkeys(
        ("load_date", "load_class", "burn_from", "burn_until", "burn_until_high"), None
    )
    frames = with_fuel(fuel("U2"), fuel("U10", reason="needs_measurement", **nothing))
    page = page_of(frames)
    assert page["fuel"]["rows"][1][:4] == ["U10", "–", "–", "–"]
    assert any(words.startswith("U10: fuel unknown: needs a clip") for words in page["hazards"])


def test_own_weather_limits_are_printed_and_only_those_not_given_are_blank():
    told = [
        setting("lowest_temperature_f", "45.0"),
        setting("highest_temperature_f", "75.5"),
        setting("highest_wind_mph", "15.0"),
        setting("wind_height_ft", "20.0"),
        setting("first_wind_from_deg", "180.0"),
        setting("last_wind_from_deg", "270.0"),
        setting("lowest_humidity_pct", "not given", origin="default"),
        setting("lowest_wind_mph", "3.0", origin="default"),
    ]
    assert weather_limits(layer("settings", told)) == [
        ["Temperature", "45", "75.5", "°F"],
        ["Relative humidity", "", "", "%"],
        ["Wind speed", "", "15", "mph at 20 ft"],
        ["Wind from", "180", "270", "°, clockwise"],
    ]


def test_settings_of_another_section_are_no_weather_limits():
    other = setting("lowest_temperature_f", "45") | {"section": "fuel"}
    assert weather_limits(layer("settings", [other]))[0] == ["Temperature", "", "", "°F"]


def test_gates_stand_with_their_coordinates_the_nearest_first():
    # The center of an azimuthal projection is its origin (Snyder 1987, chapter 24): 44 N, 97 W.
    rows = [{"gate_id": 1, "name": "Far"}, {"gate_id": 2, "name": None}]
    gates = layer("gates", rows, [Point(5000, 0), Point(0, 0)])
    page = page_of(block_frames() | {"gates": gates})
    first, second = page["places"]["rows"]
    # 14 N has its middle at 99 W; the place is 160 km east of it.
    assert first[:4] == ["1", "gate", "44.00000", "-97.00000"]
    assert first[6] == "G2"
    # 5,000 m less half of 1,000 ft, in feet.
    assert second[1] == "gate Far, 15,904 ft away"
    assert second[6] == "G1"
    assert CRS.startswith("+proj=laea +lat_0=44 +lon_0=-97")


def test_hazards_and_limits_of_the_units_are_told_and_no_others():
    limits = [
        {
            "unit_id": unit,
            "number": 1,
            "limit": "species",
            "first_day": "06-15",
            "last_day": "08-15",
            "meets_window": True,
            "note": "rare butterfly",
        }
        for unit in ("U1", "U2")
    ]
    slopes = [
        {"unit_id": "U1", "most_pct": 21.4, "over_mower_pct": 3.1, "known_pct": 100.0},
        {"unit_id": "U2", "most_pct": 31.4, "over_mower_pct": 3.1, "known_pct": 100.0},
    ]
    ground = [
        {"exclusion_id": n, "kind": kind, "applies_to": purpose, "area_ac": 1.0}
        for n, (kind, purpose) in enumerate(
            [("wetland", "both"), ("wetland", "burn"), ("plot", "seed"), ("yard", "both")], start=1
        )
    ]
    away = box(9000, 0, 9100, 100)
    spots = [box(0, 0, 5, 5), box(20, 0, 25, 5), box(40, 0, 45, 5), away]
    frames = block_frames() | {
        "season_limits": layer("season_limits", limits),
        "unit_slopes": layer("unit_slopes", slopes),
        "excluded_ground": layer("excluded_ground", ground, spots),
    }
    assert page_of(frames)["hazards"] == [
        "U1: species 06-15 to 08-15 (no approval on record): rare butterfly; the fuel's window "
        "meets it",
        "U1: slopes up to 21 %, 3 % of the unit too steep to mow",
        "Not to be burned inside: 2 wetland",
    ]


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext is not installed")
def test_only_what_the_day_can_tell_is_left_to_be_filled_in(tmp_path):
    given = [setting("lowest_temperature_f", "45.0"), setting("highest_temperature_f", "75.0")]
    frames = with_fuel(fuel("U2"), settings=layer("settings", given))
    pages = json.dumps(packet_pages(frames, paper="letter"))
    (tmp_path / "packet.pdf").write_bytes(packet_pdf(pages))
    command = ["pdftotext", "-layout", str(tmp_path / "packet.pdf"), "-"]
    text = subprocess.run(command, capture_output=True, check=True).stdout.decode()
    printed = " ".join(text.split())
    assert "Temperature 45 to 75 °F" in printed
    assert "Relative humidity to %" in printed
    assert all(blank in printed for blank in DECIDED_ON_SITE)
    assert "carries 1,732 (1,119 to 3,333) 2026-10-06" in printed
    for words in ("approved", "safe to", "go ahead", "may be lit", "ready to burn", "cleared"):
        assert words not in printed.lower()
