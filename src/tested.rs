//! What the tests, the benches and the outside checks take: the paths are those of the rooms themselves.
//! Nothing here is promised to anybody else. Whatever neither this list nor the program uses, the
//! compiler names as dead.

#![allow(missing_docs, reason = "every item is described where it stands")]

pub mod artwork {
    pub mod colour {
        pub use crate::artwork::colour::{
            ColourRead, colour, distance, lab, lab_distance, local_url, paint,
        };
    }
    pub mod fonts {
        pub use crate::artwork::fonts::Faces;
    }
    pub mod length {
        pub use crate::artwork::length::{
            LengthContext, LengthError, RootLength, RootUnits, length, number, root_length,
        };
    }
    pub mod limits {
        pub use crate::artwork::limits::{DEEPEST, MOST_ATTRIBUTES};
    }
    pub mod mark {
        pub use crate::artwork::mark::{
            Artwork, Colour, Content, Hidden, Mark, Operation, Paint, Picture, Role,
        };
    }
    pub mod resolve {
        pub use crate::artwork::resolve::{ReadOptions, resolve};
    }
    pub mod shapes {
        pub use crate::artwork::shapes::path_data;
    }
    pub mod source {
        pub use crate::artwork::source::{Failure, ReadError, Source};
        pub mod edit {
            pub use crate::artwork::source::edit::Replacement;
        }
    }
    pub mod state {
        pub use crate::artwork::state::State;
    }
    pub mod style {
        pub use crate::artwork::style::{Sheets, StyleProblemKind, Written};
    }
}
pub mod enrolling {
    pub use crate::enrolling::{Enrolled, How, enrol};
    pub mod interview {
        pub use crate::enrolling::interview::{Answer, Ask, Asker};
    }
}
pub mod fill {
    pub use crate::fill::{FillOptions, Filled, fill};
}
pub mod finding {
    pub use crate::finding::{Finding, Info, Location, Severity, Source, Stake, Waived};
}
pub mod fixture {
    pub use crate::fixture::Fixture;
    pub mod code {
        pub use crate::fixture::code::digest;
    }
    pub mod enrol {
        pub use crate::fixture::enrol::measure;
    }
    pub mod lock {
        pub use crate::fixture::lock::{Lock, OutlineKind};
    }
    pub mod parse {
        pub use crate::fixture::parse::{parse, read};
    }
    pub mod settings {
        pub use crate::fixture::settings::Settings;
    }
    pub mod shorthand {
        pub use crate::fixture::shorthand::parse_date;
    }
}
pub mod geometry {
    pub mod arc {
        pub use crate::geometry::arc::{arc_to, centre_form, ellipse, rounded_rect};
    }
    pub mod contour {
        pub use crate::geometry::contour::{Contour, contours};
    }
    pub mod deviation {
        pub use crate::geometry::deviation::{deviation, within};
    }
    pub mod edges {
        pub use crate::geometry::edges::Edges;
    }
    pub mod flatten {
        pub use crate::geometry::flatten::polylines;
    }
    pub mod region {
        pub use crate::geometry::region::Region;
    }
    pub mod similarity {
        pub use crate::geometry::similarity::{Kind, fit};
    }
    pub mod stroke {
        pub use crate::geometry::stroke::{LineStyle, ink_of_line};
    }
}
pub mod ids {
    pub use crate::ids::{Id, PocketId};
}
pub mod inspect {
    pub use crate::inspect::{Failure, Inspector, Options, faces, inspect, read};
}
pub mod matching {
    pub use crate::matching::{Job, MatchOptions, match_artwork};
}
pub mod mend {
    pub use crate::mend::{Mended, Wanted, mend};
}
pub mod orders {
    pub use crate::orders::{Batch, Named, read};
}
pub mod paths {
    pub use crate::paths::disturbs;
}
pub mod readback {
    pub use crate::readback::{Reader, Reading, by_shape};
}
pub mod record {
    pub use crate::record::{Entry, FORM, summary};
    pub mod append {
        pub use crate::record::append::append;
    }
    pub mod read {
        pub use crate::record::read::read;
    }
}
pub mod report {
    pub use crate::report::{FixtureName, Report, Run, Subject, Verdict};
    pub mod json {
        pub use crate::report::json::render;
    }
    pub mod order {
        pub use crate::report::order::order;
    }
    pub mod proof {
        pub use crate::report::proof::{figures, html, png, svg};
    }
    pub mod rests_on {
        pub use crate::report::rests_on::{Blank, ComparedList, RestsOn};
    }
    pub mod sarif {
        pub use crate::report::sarif::render;
    }
    pub mod text {
        pub use crate::report::text::{Look, render};
    }
}
pub mod rules {
    pub use crate::rules::{all, find, names, run};
}
pub mod typeset {
    pub use crate::typeset::columns;
}
pub mod units {
    pub use crate::units::Shown;
}
