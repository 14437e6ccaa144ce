//! Drawings for the rules about the fixture and its drawing.

use super::Figure;
use super::pieces::{
    ALONE, LEFT, OTHER, TAG, arrow, bed, cut, cut_tag, faint, ghost, line, note, off_place,
    outline, sheet, tag, too_much, word,
};

/// The drawing, if `rule` is one of these.
pub(super) fn figure(rule: &str) -> Option<Figure> {
    let two = || sheet() + &tag(LEFT) + &tag(OTHER);
    let in_place = || (two(), "every pocket is drawn where the sheet has it");
    Some(match rule {
        "fixture-shifted" => Figure {
            right: in_place(),
            wrong: (
                two()
                    + &off_place((LEFT.0 + 9.0, LEFT.1 - 4.0))
                    + &off_place((OTHER.0 + 9.0, OTHER.1 - 4.0))
                    + &arrow(LEFT.0 + 34.0, 76.0, LEFT.0 + 14.0, 78.0),
                "all outlines lie off their place by the same move",
            ),
        },
        "pocket-moved" => Figure {
            right: (
                two() + &word(OTHER.0 + 13.0, 50.0, 10.0, "Ida"),
                "the outline lies on its pocket",
            ),
            wrong: (
                sheet()
                    + &tag(LEFT)
                    + &ghost(OTHER)
                    + &off_place((OTHER.0 + 10.0, OTHER.1 + 3.0))
                    + &word(OTHER.0 + 23.0, 53.0, 10.0, "Ida")
                    + &arrow(OTHER.0 + 32.0, 30.0, OTHER.0 + 14.0, 27.0),
                "one outline was dragged, and the art with it",
            ),
        },
        "pocket-reshaped" => Figure {
            right: (
                sheet() + &tag(ALONE),
                "the outline has the pocket's own size and shape",
            ),
            wrong: (
                sheet()
                    + &ghost(ALONE)
                    + "<rect x=\"37\" y=\"18\" width=\"38\" height=\"52\" rx=\"4\" fill=\"none\" stroke=\"#8f4a00\" stroke-width=\"1.8\" stroke-dasharray=\"5 2.5\"/>",
                "the outline was stretched: wider and shorter than the pocket",
            ),
        },
        "pocket-missing" => Figure {
            right: in_place(),
            wrong: (
                sheet() + &tag(LEFT) + &ghost(OTHER),
                "one pocket of the fixture is not in the file",
            ),
        },
        "pocket-added" => Figure {
            right: (
                sheet() + &tag(LEFT),
                "only the pockets that the sheet has are drawn",
            ),
            wrong: (
                sheet() + &tag(LEFT) + &off_place(OTHER) + &note(OTHER.0 + 13.0, 46.0, "no pocket"),
                "an outline like a pocket lies where the sheet has none",
            ),
        },
        "fixture-absent" => Figure {
            right: (
                two() + &word(35.0, 50.0, 10.0, "Ida") + &word(75.0, 50.0, 10.0, "Jo"),
                "the fixture's lines are in the file, so the art can be seen in its pockets",
            ),
            wrong: (
                bed() + &word(35.0, 50.0, 10.0, "Ida") + &word(75.0, 50.0, 10.0, "Jo"),
                "the art stands alone: nothing shows what it was drawn over",
            ),
        },
        "page-changed" => Figure {
            right: (
                bed() + &tag((12.0, 14.0)) + &tag((44.0, 14.0)) + &note(92.0, 46.0, "page"),
                "the page is as large as when the fixture was enrolled",
            ),
            wrong: (
                bed()
                    + &faint("M10 9h64v70h-64z")
                    + &tag((12.0, 14.0))
                    + &tag((44.0, 14.0))
                    + &note(91.0, 46.0, "cut off"),
                "the page was cropped to what is drawn on it",
            ),
        },
        "fixture-still-cut" => Figure {
            right: (
                sheet() + &tag(ALONE) + &word(55.0, 50.0, 10.0, "Ida"),
                "the pocket's outline is switched off",
            ),
            wrong: (
                sheet() + &tag(ALONE) + &word(55.0, 50.0, 10.0, "Ida") + &cut_tag(ALONE),
                "the pocket's outline is still set to be cut: it would cut the fixture",
            ),
        },
        "stray-cut" => Figure {
            right: (
                sheet() + &tag(ALONE) + &word(55.0, 50.0, 10.0, "Ida"),
                "the run engraves and cuts nothing",
            ),
            wrong: (
                sheet()
                    + &tag(ALONE)
                    + &word(55.0, 50.0, 10.0, "Ida")
                    + &cut("M30 62C46 48 64 78 84 60"),
                "a line set to be cut runs across the blank and the sheet",
            ),
        },
        "open-cut" => Figure {
            right: (
                sheet()
                    + &line(
                        "M46 12h18q4 0 4 4v54q0 4 -4 4h-18q-4 0 -4 -4v-54q0 -4 4 -4z",
                        1.8,
                    ),
                "the pocket's outline closes on itself",
            ),
            wrong: (
                sheet()
                    + &line(
                        "M52 12h-6q-4 0 -4 4v54q0 4 4 4h18q4 0 4 -4v-54q0 -4 -4 -4h-3",
                        1.8,
                    )
                    + &arrow(57.0, 30.0, 57.0, 15.0)
                    + &note(57.0, 38.0, "gap"),
                "the outline has a gap: the piece hangs on",
            ),
        },
        "cut-twice" => Figure {
            right: (
                sheet() + &outline(ALONE) + &note(90.0, 46.0, "once"),
                "each line is there once",
            ),
            wrong: (
                sheet()
                    + &outline(ALONE)
                    + &cut_tag((ALONE.0 + 1.8, ALONE.1 + 1.8))
                    + &note(90.0, 46.0, "twice"),
                "a second line lies on the first: the laser goes round twice and burns",
            ),
        },
        "web-too-thin" => Figure {
            right: (
                sheet() + &tag((20.0, 12.0)) + &tag((66.0, 12.0)) + &note(56.0, 46.0, "broad"),
                "enough sheet stands between two pockets",
            ),
            wrong: (
                sheet()
                    + &tag((28.5, 12.0))
                    + &tag((56.5, 12.0))
                    + &too_much(54.5, 12.0, 2.0, TAG.1)
                    + &note(96.0, 36.0, "thin")
                    + &line("M86 38L58 42", 1.0),
                "the strip between two pockets is so thin that it breaks or chars",
            ),
        },
        "blank-does-not-fit" => Figure {
            right: (
                sheet()
                    + &line("M42 12h26v62h-26z", 1.4)
                    + "<rect x=\"43.5\" y=\"13.5\" width=\"23\" height=\"59\" rx=\"2\" fill=\"#fffdf8\" stroke=\"#2b2620\"/>"
                    + &note(55.0, 46.0, "blank"),
                "the blank drops in with a little play",
            ),
            wrong: (
                sheet()
                    + &line("M42 12h26v62h-26z", 1.4)
                    + "<rect x=\"38\" y=\"8\" width=\"34\" height=\"70\" rx=\"2\" fill=\"none\" stroke=\"#8f4a00\" stroke-width=\"1.8\" stroke-dasharray=\"5 2.5\"/>"
                    + &note(55.0, 46.0, "blank"),
                "the blank is larger than its pocket",
            ),
        },
        "no-loading-mark" => Figure {
            right: (
                sheet()
                    + &line("M42 20h26v54h-26z", 1.4)
                    + &line("M50 17L55 10L60 17z", 1.6)
                    + &note(88.0, 17.0, "this end"),
                "a mark on the sheet shows which way round the blank goes",
            ),
            wrong: (
                sheet()
                    + &line("M42 20h26v54h-26z", 1.4)
                    + &note(86.0, 24.0, "this end?")
                    + &note(23.0, 74.0, "or this?"),
                "the pocket is the same both ways round and nothing shows which",
            ),
        },
        "waiver-unused" => Figure {
            right: (
                sheet()
                    + &tag(ALONE)
                    + &word(59.0, 50.0, 8.0, "Ida")
                    + &note(24.0, 42.0, "off")
                    + &note(24.0, 51.0, "centre,")
                    + &note(24.0, 60.0, "excused"),
                "the exception in the settings excuses something in this run",
            ),
            wrong: (
                sheet()
                    + &tag(ALONE)
                    + &word(55.0, 50.0, 8.0, "Ida")
                    + &note(24.0, 42.0, "in the")
                    + &note(24.0, 51.0, "middle,")
                    + &note(24.0, 60.0, "excused"),
                "the exception excuses nothing any more: take it out",
            ),
        },
        "waiver-expired" => Figure {
            right: (
                line("M20 16h80v48h-80zM20 28h80", 1.4)
                    + &note(60.0, 25.0, "until next month")
                    + &note(60.0, 50.0, "still holds"),
                "the exception's last day is still to come",
            ),
            wrong: (
                line("M20 16h80v48h-80zM20 28h80M26 60L94 32", 1.4)
                    + &note(60.0, 25.0, "until last month")
                    + &note(60.0, 50.0, "over"),
                "the exception's last day has passed: it excuses nothing",
            ),
        },
        _ => return None,
    })
}
