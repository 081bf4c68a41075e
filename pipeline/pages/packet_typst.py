"""Template of the crew packet for the typesetter. It places text and reads none as markup."""

PACKET_TEMPLATE = r"""
#let d = json(bytes(sys.inputs.packet))
#set document(title: d.title, author: (), date: none)
#let ink = rgb("#1d2a35")
#let rule = 0.5pt + rgb("#8b8f8d")
#let warn = rgb("#7a1fa2")
#let foot(cautions, title) = text(6.7pt)[
  #set par(spacing: 3pt, leading: 0.4em)
  #line(length: 100%, stroke: rule)
  #for (n, words) in cautions.enumerate() [
    #if n == 0 { strong(words) } else { words } #h(2pt)
  ]

  #strong(title) #h(1fr) Lengths and acres from the boundaries supplied #h(1fr)
  Page #context counter(page).display("1 of 1", both: true)
]
#set text(font: "Libertinus Serif", size: 8.4pt, fill: ink, lang: "en", fallback: true)
#set par(leading: 0.45em, spacing: 5pt)
#show heading.where(level: 1): set text(17pt)
#show heading.where(level: 1): set block(above: 0pt, below: 5pt)
#show heading.where(level: 2): set text(9.6pt)
#show heading.where(level: 2): set block(above: 7pt, below: 4pt, sticky: true)

#let headline(title, units) = {
  heading(level: 1, title)
  text(9pt)[Units #units #h(1fr) #d.property, season #d.season]
}
#let facts(pairs) = grid(
  columns: (1fr,) * 4,
  row-gutter: 3.4pt, column-gutter: 10pt,
  ..pairs.map(p => box(width: 100%)[#text(7.2pt, p.at(0)) #h(1fr) #strong(p.at(1))]),
)
#let tick = box(width: 6.6pt, height: 6.6pt, stroke: 0.7pt + ink, baseline: 0.6pt)
#let filled(t, blank: false, size: 7.6pt) = {
  set text(size)
  let shades = (gap: rgb("#ead7f1"), prepare: rgb("#fbe6d3"), existing: none)
  table(
    columns: t.align.enumerate().map(((n, _)) => if n == t.wide { 1fr } else { auto })
      + (if blank { 34pt } else { auto },) * t.boxes,
    inset: (x: 2.4pt, y: 1.7pt),
    stroke: (x, y) => (bottom: rule),
    align: (x, y) => {
      if x >= t.align.len() { center } else if t.align.at(x) == "r" { right } else { left }
    } + horizon,
    table.header(
      ..t.at("groups", default: ()).map(g => table.cell(
        colspan: g.at(1), align: center, stroke: none, inset: (y: 0pt), text(size - 0.6pt, g.at(0)),
      )),
      ..t.headings.map(h => strong(text(size - 0.6pt, h))),
    ),
    ..t.rows.enumerate().map(((n, row)) => {
      let short = t.short.at(n, default: false)
      let sums = t.sums and n + 1 == t.rows.len()
      row.enumerate().map(((c, words)) => table.cell(
        fill: if c == 1 and t.keys.len() > 0 { shades.at(t.keys.at(n), default: none) },
        if sums or (short and c == t.align.len() - 1) { strong(words) } else { words },
      ))
      (if blank or sums { [] } else { tick },) * t.boxes
    }).flatten(),
  )
}
#let blanks(names, columns: 4) = grid(
  columns: (1fr,) * columns,
  column-gutter: 10pt, row-gutter: 9pt,
  ..names.map(name => box(width: 100%)[
    #text(7.4pt, name) #box(width: 1fr, line(length: 100%, stroke: 0.6pt + ink))
  ]),
)
#let part(words) = heading(level: 2, words)
#let sheet(cautions, title, body) = page(
  paper: d.paper,
  margin: (x: 36pt, top: 26pt, bottom: 72pt),
  footer-descent: 4pt,
  footer: align(top, foot(cautions, title)),
  body,
)

#for b in d.blocks {
  let title = "Burn block: " + b.name
  sheet(d.burn_cautions, title)[
    #headline(title, b.units)
    #facts(b.facts)
    #v(2pt)
    #image(
      bytes(b.map.svg), format: "svg", alt: b.map.alt,
      width: b.map.width * 1pt, height: b.map.height * 1pt,
    )
    #part[Stretches, the block on their left hand]
    #filled(b.stretches, size: 7.2pt)
    #text(6.8pt)[
      Faces: outward, from true north. Planned: feet of bare or wet ground, of mown strip, and of
      strip to be burned out beforehand. Rule asks: width by the rule; counted: planned width of the
      ground the rule counts; short by: what is missing. #b.rules Tick when mown, when raked or
      removed, when the wet line is laid, when walked. #b.map.note
    ]
    #grid(
      columns: if b.places.rows.len() > 0 and b.strips.rows.len() > 0 { (1fr, 1.15fr) } else { 1 },
      column-gutter: 14pt,
      ..(
        if b.places.rows.len() > 0 [
          #part[Gaps, tie-ins and corners]
          #filled(b.places, size: 7.2pt)
        ],
        if b.strips.rows.len() > 0 [
          #part[Mow strips]
          #filled(b.strips, size: 7.2pt)
        ],
      ).filter(c => c != none),
    )
    #if b.findings.len() > 0 [
      #part[Warnings for its units]
      #for words in b.findings [#text(7.6pt)[– #words] #parbreak()]
    ]
    #block(breakable: false)[
      #part[Filled in by the burn boss]
      #v(3pt)
      #blanks(b.blanks)
    ]
  ]
}
#for a in d.areas {
  let title = (if a.drill { "Drill sheet: " } else { "Seeding sheet: " }) + a.name
  sheet(d.seed_cautions, title)[
    #headline(title, a.units)
    #facts(a.facts)
    #part[Boxes: set, catch, weigh]
    #filled(a.boxes, blank: true)
    #if a.companions.rows.len() > 0 [
      #part[Nurse crop and carrier]
      #filled(a.companions)
    ]
    #part[Lots weighed out]
    #filled(a.lots)
    #block(breakable: false)[
      #part[Noted while sowing]
      #v(3pt)
      #blanks(a.blanks)
    ]
  ]
}
"""
