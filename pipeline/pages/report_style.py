"""Style sheet of the report: screen, phone and paper."""

from pipeline.pages import palette as p

REPORT_STYLE = f"""
:root{{--ink:{p.INK};--faint:{p.FAINT_INK};--paper:{p.PAPER};--ground:{p.GROUND};--rule:#cfc6b1;
--note:#7a1fa2;--warm:#8a3d00}}
*{{box-sizing:border-box}}
[hidden]{{display:none!important}}
html{{background:var(--paper);color:var(--ink);font:16px/1.5 system-ui,
"Segoe UI",Roboto,"Noto Sans","DejaVu Sans",sans-serif;-webkit-text-size-adjust:100%}}
body{{margin:0 auto;max-width:1400px;padding:0 24px 64px}}
h1,h2,h3{{font-family:"Iowan Old Style","Palatino Linotype",Palatino,"Book Antiqua",Georgia,
"DejaVu Serif",serif;font-weight:600;line-height:1.2;margin:0}}
h1{{font-size:2.3rem;letter-spacing:-.01em}}
h2{{font-size:1.5rem;margin:52px 0 6px;padding-top:14px;border-top:3px double var(--rule)}}
h3{{font-size:1.08rem;margin:26px 0 6px}}
p{{margin:.4em 0;max-width:78ch}}
.about{{color:var(--faint);font-size:.92rem}}
.skip{{position:absolute;left:-999px}}
.skip:focus{{position:static;display:inline-block;padding:8px;background:#fff}}
header{{padding:34px 0 18px}}
.season{{font-size:1.02rem;color:var(--faint);margin:2px 0 20px}}
.figures{{display:flex;flex-wrap:wrap;margin:0;border-top:1px solid var(--ink);
border-bottom:1px solid var(--ink)}}
.figures div{{padding:10px 26px 10px 0;margin-right:26px;border-right:1px solid var(--rule)}}
.figures div:last-child{{border:0;margin:0;padding-right:0}}
.figures dt{{font-size:.86rem;color:var(--faint)}}
.figures dd{{margin:0;font-size:1.32rem;font-variant-numeric:tabular-nums}}
.caution{{border:2px solid var(--warm);background:#fff4e3;padding:14px 20px;margin:20px 0}}
.caution h2{{margin:0;padding:0;border:0;font-size:1.18rem;color:var(--warm)}}
.caution ul{{margin:.5em 0 0;padding-left:1.2em}}
.caution li{{max-width:100ch}}
nav{{margin:4px 0 0}}
nav a{{display:inline-block;margin:0 18px 4px 0;color:var(--ink);text-underline-offset:3px;
padding:3px 0}}
a:focus-visible,button:focus-visible,input:focus-visible,summary:focus-visible,
.wide:focus-visible{{outline:3px solid var(--note);outline-offset:2px}}
.findings{{columns:3;column-gap:36px;margin:10px 0;border-left:5px solid var(--warm);
padding-left:18px;font-size:.94rem;line-height:1.4}}
.findings.notes{{border-left:2px dotted var(--faint)}}
.findings h3{{margin:0 0 2px;font-size:1rem;break-after:avoid}}
.findings ul{{list-style:none;margin:0 0 14px;padding:0}}
.findings li{{break-inside:avoid;padding:2px 0 4px;overflow-wrap:anywhere}}
summary{{cursor:pointer;padding:6px 0;text-decoration:underline;text-underline-offset:3px}}
.sheet{{display:grid;grid-template-columns:minmax(0,1fr) 316px;gap:0 26px;margin-top:14px}}
.plat{{border:1px solid var(--ink);outline:1px solid var(--ink);outline-offset:3px;
background:var(--ground);margin:4px;position:relative}}
#map{{display:block;width:100%;height:auto;max-height:86vh;cursor:grab;user-select:none;
touch-action:pan-y}}
#map.near{{touch-action:none}}
#map.moving{{cursor:grabbing}}
#map:focus{{outline:none}}
#map text{{font-family:system-ui,"Segoe UI",Roboto,"Noto Sans","DejaVu Sans",sans-serif;
fill:var(--ink);text-anchor:middle;pointer-events:none;paint-order:stroke;stroke:#fffdf8;
stroke-width:.22em;stroke-linejoin:round}}
#map path,#map line{{vector-effect:non-scaling-stroke}}
#map .grain{{vector-effect:none}}
#map .still{{pointer-events:none}}
#map .unit{{cursor:pointer;outline:none}}
#map .unit path{{fill:#fff;fill-opacity:0}}
#map .unit:hover path{{fill-opacity:.3}}
#map .unit:focus-visible path{{stroke:var(--note);stroke-width:4px}}
#map .unit[aria-pressed=true] path{{stroke:var(--ink);stroke-width:4.5px;fill-opacity:.3}}
.tools{{display:flex;flex-wrap:wrap;gap:8px 8px;align-items:center;margin:12px 4px 0}}
button{{font:inherit;color:var(--ink);background:#fffdf8;border:1px solid var(--ink);
padding:5px 13px;border-radius:0;cursor:pointer;min-height:36px}}
button:hover{{background:var(--ground)}}
.tools .about{{margin:0}}
fieldset{{border:0;margin:0 0 12px;padding:0;min-width:0}}
legend{{font-weight:600;padding:0 0 4px}}
fieldset label{{display:grid;grid-template-columns:24px 50px 1fr;gap:0 6px;align-items:center;
padding:3px 0;min-height:30px;line-height:1.25;font-size:.95rem}}
fieldset label.bare{{grid-template-columns:24px 1fr}}
input[type=checkbox],input[type=radio]{{width:18px;height:18px;accent-color:var(--ink);margin:0}}
.key svg,fieldset svg{{display:block;overflow:visible}}
.key{{list-style:none;margin:2px 0 10px 30px;padding:0;font-size:.88rem}}
.key li{{display:grid;grid-template-columns:42px 1fr;gap:8px;align-items:center;padding:1px 0}}
.card{{border-bottom:1px solid var(--ink);padding:0 0 12px;margin:0 0 14px;min-height:236px;
overflow-wrap:anywhere}}
.card h3{{margin:0 0 4px}}
.card dl{{display:grid;grid-template-columns:auto 1fr;gap:1px 14px;margin:0;font-size:.92rem}}
.card dt{{color:var(--faint)}}
.store{{position:absolute}}
.card dd{{margin:0;font-variant-numeric:tabular-nums}}
.wide{{overflow-x:auto;margin:8px 0 0;max-width:100%}}
table{{border-collapse:collapse;font-size:.9rem;line-height:1.35}}
caption{{text-align:left;font-weight:600;padding:8px 0 6px}}
th,td{{padding:5px 12px 5px 0;vertical-align:top;text-align:left}}
thead th{{border-bottom:1.5px solid var(--ink);vertical-align:bottom;font-weight:600}}
thead th{{white-space:normal!important;max-width:15ch}}
.d{{white-space:nowrap}}
thead small{{display:block;font-weight:400;color:var(--faint);font-size:.8rem}}
tbody tr{{border-bottom:1px solid #e2dac8}}
tbody th{{font-weight:600;white-space:nowrap}}
tbody tr:hover{{background:var(--ground)}}
tfoot td,tfoot th{{border-top:1.5px solid var(--ink);font-weight:600}}
.n{{text-align:right;white-space:nowrap;font-variant-numeric:tabular-nums}}
.t{{min-width:10ch;max-width:34ch;overflow-wrap:break-word}}
tbody tr:has(+.under){{border-bottom:0}}
.under td{{padding-top:0}}
.under div{{position:sticky;left:0;width:fit-content;max-width:min(110ch,calc(100vw - 28px))}}
.under p{{margin:0 0 3px;max-width:none;color:#3c474f}}
.under b{{font-weight:400;color:var(--faint)}}
.sha{{font-family:ui-monospace,Consolas,"DejaVu Sans Mono",monospace;font-size:.76rem;
overflow-wrap:anywhere;max-width:34ch;min-width:22ch}}
.find{{border:0;background:none;padding:0;min-height:24px;min-width:24px;text-align:left;
font-weight:600;text-decoration:underline;text-underline-offset:3px}}
.charts{{display:grid;grid-template-columns:repeat(auto-fill,minmax(300px,1fr));gap:14px 26px}}
figure{{margin:0;break-inside:avoid;min-width:0}}
figcaption{{font-weight:600;font-size:.95rem;overflow-wrap:anywhere}}
.chart{{display:block;width:100%;height:auto}}
.chart text{{font-size:11px;fill:var(--faint);font-family:system-ui,"DejaVu Sans",sans-serif}}
footer{{margin-top:56px;border-top:3px double var(--rule);padding-top:12px;font-size:.88rem;
color:var(--faint)}}
@media screen and (max-width:1100px){{.findings{{columns:2}}}}
@media screen and (max-width:900px){{
body{{padding:0 14px 48px}}
h1{{font-size:1.75rem}}
.sheet{{grid-template-columns:minmax(0,1fr)}}
.findings{{columns:1}}
.figures div{{padding-right:14px;margin-right:14px}}
.figures dd{{font-size:1.12rem}}
.sheet>div:last-child{{margin-top:14px}}
.charts{{grid-template-columns:minmax(0,1fr)}}
fieldset label{{min-height:36px}}
}}
@media print{{
@page{{margin:14mm 13mm}}
html{{font-size:10.5pt;background:#fff;print-color-adjust:exact;-webkit-print-color-adjust:exact}}
body{{padding:0;max-width:none}}
nav,.tools,.card,.skip,.screen{{display:none!important}}
.sheet{{display:block}}
.plat{{break-inside:avoid}}
#map{{max-height:190mm}}
fieldset label input{{display:none}}
fieldset label{{grid-template-columns:50px 1fr;min-height:0}}
fieldset{{columns:2}}
fieldset label.bare{{grid-template-columns:1fr}}
fieldset label,.key li{{break-inside:avoid}}
fieldset label.off,fieldset.screen{{display:none}}
.wide{{overflow:visible}}
.findings{{columns:2}}
.charts{{grid-template-columns:repeat(3,minmax(0,1fr));gap:8px 14px}}
.under div{{position:static;max-width:none}}
table{{font-size:8pt}}
th,td{{padding:2px 6px 2px 0}}
thead{{display:table-header-group}}
tr{{break-inside:avoid}}
h2,h3{{break-after:avoid}}
.find{{text-decoration:none;font-size:inherit}}
.t{{min-width:0}}
tbody th{{white-space:normal}}
a{{color:inherit;text-decoration:none}}
}}
"""
