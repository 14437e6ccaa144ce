//! A report as the pipeline might make it, with a bit of everything.

use std::sync::Arc;

use jigwarden::tested::finding::Info;
use jigwarden::tested::finding::{Finding, Severity, Source, Stake, Waived};
use jigwarden::tested::report::order::order;
use jigwarden::tested::report::rests_on::{Blank, ComparedList, RestsOn};
use jigwarden::tested::report::{FixtureName, Report, Run, Verdict};
use jigwarden::tested::units::Shown;
use kurbo::Rect;

const fn info(name: &'static str, severity: Severity, stake: Stake, page: &'static str) -> Info {
    Info {
        name,
        severity,
        stake,
        page,
    }
}

pub(crate) const RULES: &[Info] = &[
    info(
        "fixture-still-cut",
        Severity::Hold,
        Stake::Fixture,
        "# fixture-still-cut\n\n*hold · the fixture's own lines would be cut again*\n\n## What it means\n\nA line of the fixture is in a live paint.\n",
    ),
    info(
        "past-zone",
        Severity::Hold,
        Stake::Blank,
        "# past-zone\n\n*hold · art reaches past its zone*\n\n## What it means\n\nArt reaches past the zone.\n",
    ),
    info(
        "upside-down",
        Severity::Hold,
        Stake::Blank,
        "# upside-down\n\n*hold · art the wrong way up*\n",
    ),
    info(
        "paint-unknown",
        Severity::Hold,
        Stake::Blank,
        "# paint-unknown\n\n*hold · a paint that no operation claims*\n",
    ),
    info(
        "tilted",
        Severity::Caution,
        Stake::Blank,
        "# tilted\n\n*caution · art off square*\n",
    ),
    info(
        "picture-coarse",
        Severity::Caution,
        Stake::Look,
        "# picture-coarse\n\n*caution · a picture with too few dots*\n",
    ),
    info(
        "off-centre",
        Severity::Note,
        Stake::Look,
        "# off-centre\n\n*note · art off the zone's centre*\n",
    ),
];

/// A run file as an editor might write it.
pub(crate) const SVG: &str = r##"<?xml version="1.0"?>
<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="400mm" viewBox="0 0 600 400">
  <g id="fixture">
    <path id="o1" style="fill:none;stroke:#7b2d8b;stroke-width:0.1" d="M60 300h28v92h-28z"/>
  </g>
  <text
     id="n3"
     x="101.2"
     y="248.8"
     style="font-size:9px;fill:#1b1b1b">Bartholomew</text>
  <text id="n4" x="140" y="248.8">木の名札</text><text id="n5" x="180" y="248.8" transform="rotate(180)" style="font-size:9px;fill:#1b1b1b;letter-spacing:0.2px">Zoë</text>
  <circle id="dot" cx="10" cy="10" r="2" fill="#1c1c1c"/>
	<image id="crest" width="20" height="20" href="data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNkYPhfDwAChwGA60e6kgAAAABJRU5ErkJggg=="/>
</svg>
"##;

pub(crate) fn find(
    rule: &str,
    id: &str,
    pocket: Option<&str>,
    bed: Rect,
    message: &str,
    help: &str,
) -> Finding {
    let info = RULES.iter().find(|r| r.name == rule).unwrap();
    let place = jigwarden::tested::finding::Location::Bed(bed);
    let mut f = Finding::new(info, &place, message, help).in_pocket(pocket);
    f.source = element(SVG, id);
    f
}

/// The element called `id` in `svg`.
fn element(svg: &str, id: &str) -> Option<Source> {
    let at = svg.find(&format!("id=\"{id}\""))?;
    let start = svg[..at].rfind('<').unwrap();
    let name = svg[start + 1..].split([' ', '\n']).next().unwrap();
    let end = [format!("</{name}>"), "/>".to_owned()]
        .iter()
        .filter_map(|e| svg[start..].find(e).map(|n| start + n + e.len()))
        .min()
        .unwrap();
    Some(Source {
        range: start..end,
        element: name.to_owned(),
        id: Some(id.to_owned()),
    })
}

/// Findings of every weight, some of a kind, one excused.
pub(crate) fn findings() -> Vec<Finding> {
    let mut all = vec![
        find(
            "past-zone",
            "n3",
            Some("A3"),
            Rect::new(101.2, 240.0, 131.6, 248.8),
            "\"Bartholomew\" runs 2.4 mm past the right edge of its zone",
            "set it at 84 % of this size, or on two lines",
        )
        .measured("overhang", 2.400_000_000_000_1, -0.0, "mm"),
        find(
            "upside-down",
            "n5",
            Some("B2"),
            Rect::new(160.0, 240.0, 180.0, 248.8),
            "\"Zoë\" is turned 180° from where the tops should point, allowed is 45°",
            "turn it by half a turn",
        )
        .measured("turn", 180.0, 45.0, "deg"),
        find(
            "paint-unknown",
            "dot",
            None,
            Rect::new(8.0, 8.0, 12.0, 12.0),
            "no operation claims the paint #1c1c1c; the nearest is #1b1b1b, which is engraved",
            "give it one of the paints in [paints], or list it there",
        ),
        find(
            "picture-coarse",
            "crest",
            Some("A1"),
            Rect::new(60.0, 300.0, 80.0, 320.0),
            "the picture has 118 dots per inch, at least 200 are wanted",
            "put in a picture with more dots, or show it at 59 % of this size",
        )
        .measured("resolution", 118.0, 200.0, "dpi"),
    ];
    all[2].more = 3;
    for (i, pocket) in ["A2", "A3", "A4", "A5", "A6", "B1", "B2", "B3", "B4", "A10"]
        .iter()
        .enumerate()
    {
        let x = 60.0 + 40.0 * i as f64;
        let off = 1.5 + 0.5 * i as f64;
        all.push(
            find(
                "fixture-still-cut",
                "o1",
                Some(pocket),
                Rect::new(x, 300.0, x + 28.0, 392.0),
                "the pocket's outline is in the cut paint #7b2d8b and would be cut again",
                "give the fixture's lines an `off` paint, or leave them out of the run file",
            )
            .measured("cut", off, 0.0, "mm"),
        );
    }
    let mut excused = find(
        "off-centre",
        "n4",
        Some("A4"),
        Rect::new(140.0, 240.0, 156.0, 248.8),
        "\"木の名札\" lies 3.1 mm left of the zone's centre, its siblings lie on it",
        "move it 3.1 mm to the right",
    );
    excused.waived = Some(Waived {
        reason: "customer wants the crest to the left".to_owned(),
        until: "2027-03-31".to_owned(),
    });
    all.push(excused);
    order(&mut all, RULES);
    all
}

pub(crate) fn run(file: &str, verdict: Verdict, findings: Vec<Finding>) -> Run {
    Run {
        subject: jigwarden::tested::report::Subject::Run,
        file: file.to_owned(),
        uri: None,
        sha256: "00c0ffee".repeat(8),
        verdict,
        fixture: Some(FixtureName {
            name: "Hive tags, twelve up".to_owned(),
            code: "7K3-Q9F".to_owned(),
        }),
        findings,
        notes: Vec::new(),
        text: Arc::from(SVG),
        rests_on: None,
        blanks: Vec::new(),
        trouble: None,
        shown: Shown::Mm,
    }
}

pub(crate) fn held() -> Run {
    let mut run = run("monday.svg", Verdict::Hold, findings());
    run.notes = vec!["the drawing has no pocket for A12; it was left out with --loaded".to_owned()];
    run
}

pub(crate) fn clear() -> Run {
    Run {
        rests_on: Some(RestsOn {
            names: Some(ComparedList {
                file: "orders.csv".to_owned(),
                sha256: "0badcafe".repeat(8),
                orders: 12,
                runs: 1,
            }),
            pockets: 12,
            faces: vec!["Ubuntu light".to_owned()],
            ..RestsOn::default()
        }),
        blanks: vec![Blank {
            pocket: "A1".to_owned(),
            burnt: "Isolde".to_owned(),
        }],
        ..run("runs/tuesday.svg", Verdict::Clear, Vec::new())
    }
}

pub(crate) fn unread() -> Run {
    Run {
        fixture: None,
        sha256: String::new(),
        text: Arc::from(""),
        trouble: Some("the file ends in the middle of an element, at line 4 of 4".to_owned()),
        ..run("wednesday.svg", Verdict::Unread, Vec::new())
    }
}

pub(crate) fn report() -> Report {
    Report {
        runs: vec![held(), clear(), unread()],
    }
}
