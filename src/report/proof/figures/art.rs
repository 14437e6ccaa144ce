//! Drawings for the rules about art: where it lies, which way up, how fine, in which paint.

use super::Figure;
use super::pieces::{
    ALONE, LEFT, OTHER, arrow, bed, burnt, crest, empty, faint, line, note, pale, sheet, stripes,
    tag, too_much, turned, word,
};

/// The drawing, if `rule` is one of these.
pub(super) fn figure(rule: &str) -> Option<Figure> {
    let one = || sheet() + &tag(ALONE);
    let two = || sheet() + &tag(LEFT) + &tag(OTHER);
    let ida = || {
        (
            one() + &word(55.0, 50.0, 10.0, "Ida"),
            "the name stands in its zone, its tops to the ring",
        )
    };
    Some(match rule {
        "past-zone" => Figure {
            right: (
                one() + &word(55.0, 50.0, 4.8, "Konrad"),
                "the lettering stays inside the dotted zone",
            ),
            wrong: (
                one()
                    + &word(55.0, 50.0, 11.0, "Konrad")
                    + &too_much(65.5, 43.0, 11.0, 14.0)
                    + &too_much(33.5, 43.0, 11.0, 14.0),
                "the lettering reaches past the zone: the hatched part burns the sheet",
            ),
        },
        "off-blank" => Figure {
            right: (
                two() + &word(35.0, 50.0, 10.0, "Ida") + &word(75.0, 50.0, 10.0, "Jo"),
                "each name lies in one pocket",
            ),
            wrong: (
                two()
                    + &word(35.0, 50.0, 10.0, "Ida")
                    + &too_much(48.0, 44.0, 14.0, 11.0)
                    + &word(55.0, 50.0, 10.0, "Jo"),
                "a name lies between two pockets, so no blank takes it",
            ),
        },
        "upside-down" => Figure {
            right: ida(),
            wrong: (
                one()
                    + &turned(55.0, 50.0, 10.0, "Ida", "rotate(180)")
                    + &note(88.0, 20.0, "tops go")
                    + &note(88.0, 29.0, "this way")
                    + &arrow(76.0, 58.0, 76.0, 32.0),
                "the tops of the letters point away from the ring",
            ),
        },
        "way-up-unknown" => Figure {
            right: (
                one() + &crest(55.0, 46.0, "") + &word(55.0, 64.0, 7.0, "Ida"),
                "lettering beside the art shows which way up it is",
            ),
            wrong: (
                one()
                    + &burnt("M55 37L57.5 47.5L68 50L57.5 52.5L55 63L52.5 52.5L42 50L52.5 47.5Z")
                    + &note(87.0, 46.0, "top here?")
                    + &note(24.0, 60.0, "or here?"),
                "the art alone does not show where its top is",
            ),
        },
        "mirrored" => Figure {
            right: (
                one() + &word(55.0, 50.0, 8.5, "Fay"),
                "the name reads from left to right",
            ),
            wrong: (
                one() + &turned(55.0, 50.0, 8.5, "Fay", "scale(-1 1)"),
                "the name reads as in a mirror",
            ),
        },
        "tilted" => Figure {
            right: (
                one() + &word(55.0, 50.0, 10.0, "Ida") + &faint("M44 55h22"),
                "the lettering runs square to the blank",
            ),
            wrong: (
                one() + &turned(55.0, 50.0, 10.0, "Ida", "rotate(-14)") + &faint("M44 55h22"),
                "the lettering runs at a slant",
            ),
        },
        "off-centre" => Figure {
            right: (
                two() + &crest(35.0, 48.0, "") + &crest(75.0, 48.0, ""),
                "the art stands in the middle of each zone",
            ),
            wrong: (
                two()
                    + &crest(35.0, 48.0, "")
                    + &crest(78.5, 60.0, "")
                    + &arrow(86.0, 66.0, 76.0, 52.0),
                "one is off the middle where its neighbours are not",
            ),
        },
        "outside-bed" => Figure {
            right: (
                bed() + &faint("M14 12h88v61h-88z") + &word(50.0, 44.0, 12.0, "Ida"),
                "everything lies within the usable bed",
            ),
            wrong: (
                bed()
                    + &faint("M14 12h88v61h-88z")
                    + &word(98.0, 44.0, 12.0, "Ida")
                    + &too_much(102.0, 36.0, 15.0, 15.0),
                "a part lies beyond the usable bed, where the head cannot go",
            ),
        },
        "pocket-bare" => Figure {
            right: (
                two() + &word(35.0, 50.0, 10.0, "Ida") + &word(75.0, 50.0, 10.0, "Jo"),
                "every loaded blank gets its art",
            ),
            wrong: (
                two() + &word(35.0, 50.0, 10.0, "Ida") + &word(75.0, 52.0, 16.0, "?"),
                "a blank is loaded and nothing is drawn for it",
            ),
        },
        "pocket-unloaded" => Figure {
            right: (
                sheet() + &tag(LEFT) + &empty(OTHER) + &word(35.0, 50.0, 10.0, "Ida"),
                "a pocket without a blank has no art",
            ),
            wrong: (
                sheet()
                    + &tag(LEFT)
                    + &empty(OTHER)
                    + &word(35.0, 50.0, 10.0, "Ida")
                    + &word(75.0, 45.0, 10.0, "Jo"),
                "art lies in a pocket without a blank: it burns what is below",
            ),
        },
        "written-over" => Figure {
            right: (
                one() + &word(55.0, 50.0, 10.0, "Ida"),
                "one name stands in the pocket",
            ),
            wrong: (
                one() + &word(55.0, 50.0, 10.0, "Ida") + &word(56.0, 51.0, 10.0, "Jo"),
                "the last batch's name still lies under the new one",
            ),
        },
        "doubled" => Figure {
            right: (one() + &crest(55.0, 48.0, ""), "each mark is there once"),
            wrong: (
                one()
                    + &crest(55.0, 48.0, "")
                    + &faint("M58 42L61 48H66V53Q66 59 58 62Q50 59 50 53V48H55Z")
                    + &note(90.0, 44.0, "there")
                    + &note(90.0, 53.0, "twice"),
                "the same mark lies twice on one place and burns too deep",
            ),
        },
        "hidden-but-live" => Figure {
            right: (
                one() + &word(55.0, 50.0, 10.0, "Ida"),
                "what would be run is what you see",
            ),
            wrong: (
                one()
                    + &word(55.0, 50.0, 10.0, "Ida")
                    + &faint("M46 58h18v12h-18z")
                    + &pale(55.0, 64.0, 7.0, "Max")
                    + &note(90.0, 48.0, "covered,")
                    + &note(90.0, 57.0, "yet burnt")
                    + &line("M74 60L66 64", 1.0),
                "something white, covered or see-through would be run all the same",
            ),
        },
        "font-missing" => Figure {
            right: (
                one() + &word(55.0, 50.0, 10.0, "Ida"),
                "the lettering's font is here, or the lettering is outlines",
            ),
            wrong: (
                one()
                    + &line(
                        "M46 45h4.5v9h-4.5zM53 45h4.5v9h-4.5zM60 45h4.5v9h-4.5z",
                        1.1,
                    )
                    + &note(89.0, 46.0, "font?"),
                "the font is not here, so how wide the name gets is not known",
            ),
        },
        "paint-unknown" => Figure {
            right: (
                one() + &crest(55.0, 48.0, "") + &note(90.0, 46.0, "engrave"),
                "the paint stands for something in the settings",
            ),
            wrong: (
                one()
                    + &stripes(47.0, 36.0, 16.0, 18.0, 2.6, "#38281a", 1.0)
                    + &line("M47 36h16v18h-16z", 1.0)
                    + &note(88.0, 40.0, "cut?")
                    + &note(90.0, 52.0, "engrave?"),
                "no line of the settings says what this paint is to do",
            ),
        },
        "not-proven" => Figure {
            right: (
                one() + &crest(55.0, 48.0, ""),
                "everything in the file is plain shapes that can be measured",
            ),
            wrong: (
                one() + &faint("M45 38h20v22h-20z") + &word(55.0, 49.0, 16.0, "?"),
                "a part of the file cannot be read, so what it burns is not known",
            ),
        },
        "too-fine" => Figure {
            right: (
                one() + &line("M46 40h18M46 48h18M46 56h18", 2.2),
                "lines are broad enough for the beam",
            ),
            wrong: (
                one() + &line("M46 40h18M46 48h18M46 56h18", 0.3),
                "lines thinner than the beam fade or break",
            ),
        },
        "letter-too-small" => Figure {
            right: (
                one() + &word(55.0, 50.0, 10.0, "Ida"),
                "the letters are large enough to read",
            ),
            wrong: (
                one() + &word(55.0, 50.0, 2.6, "Ida"),
                "letters so small that they fill in and cannot be read",
            ),
        },
        "picture-coarse" => Figure {
            right: (
                one() + "<circle cx=\"55\" cy=\"48\" r=\"9\" fill=\"#38281a\"/>",
                "the picture has enough dots for its size",
            ),
            wrong: (
                one() + &burnt("M52 39h6v3h3v3h3v6h-3v3h-3v3h-6v-3h-3v-3h-3v-6h3v-3h3z"),
                "the picture was enlarged: its dots show as steps",
            ),
        },
        _ => return None,
    })
}
