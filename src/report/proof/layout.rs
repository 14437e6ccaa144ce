//! Where each label of a drawing stands: names of pockets, numbers of findings, measures.

use kurbo::{Point, Rect, Shape as _, Vec2};

use super::labels::{
    ARROW, BADGE, MEASURE, Measure, RING, RULE, Sign, Words, beyond_words, corners, plate_half,
};
use super::pen::letters_wide;
use super::room::{Room, Spot, about};
use super::scene::{Scene, extent};
use crate::finding::{Finding, Picture, Severity};
use crate::fixture::Pocket;

/// How far a number stands off its ring, in thin lines: half of each one's line, and a gap.
const OFF: f64 = 3.0;

/// Up to so many findings, numbers stand with the names of their rules. With more, a drawing would be full
/// of words.
const FEW: usize = 3;

/// Arrows shorter than this many thin lines are drawn this long (the key says so): a shift of a tenth of a
/// millimetre ruins blanks and cannot be seen to scale.
const SHORTEST: f64 = 26.0;

/// The labels of one drawing.
pub(super) struct Layout<'a> {
    /// The names of the pockets that are seen.
    pub(super) names: Vec<Words<'a>>,
    /// What else is written: the directions, the edge of the file's page.
    pub(super) words: Vec<Words<'a>>,
    /// The findings, as the report has them.
    pub(super) signs: Vec<Sign<'a>>,
}

/// What stands about a drawing.
#[derive(Default)]
pub(super) struct About {
    /// Boxes of what has its place.
    pub(super) taken: Vec<Rect>,
    /// Words with the middles that they may have, the best-liked first.
    pub(super) words: Vec<(&'static str, Vec<Point>)>,
}

impl<'a> Layout<'a> {
    /// Lays out the labels about some findings, each with its number.
    pub(super) fn of(
        scene: &Scene<'a>,
        findings: impl IntoIterator<Item = (usize, &'a Finding)>,
        about: &About,
    ) -> Self {
        let mut room = Room::new(scene.view.inflate(-2.0 * scene.unit, -2.0 * scene.unit));
        let findings: Vec<(usize, &Finding)> = findings.into_iter().collect();
        let lettering = scene.parts.lettering.iter();
        for r in lettering.chain(&about.taken).filter(|r| scene.sees(**r)) {
            // The name of a pocket right beside one would read as part of it.
            room.take(r.inflate(4.0 * scene.unit, scene.unit));
        }
        for (_, f) in &findings {
            scene.take_marks(f, &mut room);
        }
        let mut words: Vec<Words<'_>> = Vec::new();
        for (text, middles) in &about.words {
            let middles = middles.iter().copied();
            words.extend(scene.put_words(text, MEASURE, middles, &mut room));
        }
        let names = scene.names(&mut room);
        let mut signs: Vec<Sign<'_>> = Vec::new();
        let few = findings.len() <= FEW;
        let worse = |f: &Finding| f.severity != Severity::Note && f.waived.is_none();
        let grave = findings.iter().any(|(_, f)| worse(f));
        for (number, finding) in findings {
            let named = few.then(|| scene.badge(number, finding, true, &mut room));
            let named = named.flatten();
            let badge = named.or_else(|| scene.badge(number, finding, false, &mut room));
            let beyond = badge
                .is_none()
                .then(|| scene.told_beyond(finding, &mut room));
            signs.push(Sign {
                number,
                finding,
                badge,
                named: named.is_some(),
                quiet: grave && !worse(finding),
                beyond: beyond.flatten(),
                measure: None,
            });
        }
        // After all numbers, which matter more.
        for sign in signs.iter_mut().filter(|s| !s.quiet) {
            sign.measure = scene.measure(sign.finding, &mut room);
        }
        words.extend(scene.page_words(&mut room));
        Self {
            names,
            words,
            signs,
        }
    }
}

impl<'a> Scene<'a> {
    /// Keeps labels off the rings of a finding and the arrows whose places are fixed.
    fn take_marks(&self, f: &Finding, room: &mut Room) {
        if let Some(bed) = f.bed {
            room.take_frame(bed.inflate(RING, RING), 3.0 * self.unit);
        }
        for (_, place) in &f.also {
            for corner in corners(place.inflate(RING, RING)) {
                room.take(Rect::from_center_size(
                    corner,
                    (8.0 * self.unit, 8.0 * self.unit),
                ));
            }
        }
        match &f.picture {
            Picture::Ghost { from, to, .. } if !self.short(*from, *to) => {
                room.take_line(*from, *to, 4.0 * self.unit);
            }
            Picture::Turn { .. } => {
                let arc = self.arc(f);
                for (a, b) in arc.iter().zip(arc.iter().skip(1)) {
                    room.take_line(*a, *b, 4.0 * self.unit);
                }
            }
            _ => {}
        }
    }

    /// The names of the pockets: at the head end, or where there is room in or about the pocket.
    pub(super) fn names(&self, room: &mut Room) -> Vec<Words<'a>> {
        let pockets = self.job.fixture.pockets.iter();
        pockets
            .filter_map(|pocket| self.name(pocket, room))
            .collect()
    }

    fn name(&self, pocket: &'a Pocket, room: &mut Room) -> Option<Words<'a>> {
        let bounds = pocket.region.bounds().filter(|b| self.sees(*b))?;
        let (end, across, along) = extent(pocket)?;
        let size = (11.0 * self.unit).min(across * 0.4);
        let wide = letters_wide(&pocket.name, size);
        let (centre, radius) = self.head_ring(pocket)?;
        let head = pocket.head;
        let side = Vec2::new(-head.y, head.x);
        // How far the words reach along the head direction and across it.
        let reach = |way: Vec2| (way.x * wide).abs() / 2.0 + (way.y * size).abs() * 0.6;
        let beside = side * (radius * 1.3 + reach(side));
        let spot = |p: Point| Spot::at(p, (wide, 1.2 * size));
        let mut spots: Vec<Spot> = [
            centre - head * (radius * 1.3 + reach(head)),
            centre + beside,
            centre - beside,
        ]
        .map(spot)
        .into();
        for part in [0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9] {
            let on = end - head * (along * part);
            let edge = side * ((across / 2.0 - reach(side) * 1.2).max(0.0));
            let within = [on, on + edge, on - edge].map(spot).into_iter();
            spots.extend(within.filter(|s| pocket.region.contains_rect(s.plate)));
        }
        // Beside a pocket that is seen in part, a name could be another's.
        let whole = self.view.contains_rect(bounds);
        let outside = about(bounds, (wide, 1.2 * size), self.unit).into_iter();
        let outside = outside.filter(|_| whole);
        let spot = room.put(
            spots
                .into_iter()
                .chain(outside.take_while(|s| s.leads_to.is_none())),
        )?;
        Some(Words {
            at: spot.plate.center(),
            size: size / self.unit,
            text: &pocket.name,
        })
    }

    /// A place for a number at its ring; with the name of the rule, where that is free.
    fn badge(&self, number: usize, f: &Finding, named: bool, room: &mut Room) -> Option<Spot> {
        let (wide, high) = (2.0 * plate_half(number, self.unit), 2.0 * BADGE * self.unit);
        let Some(bed) = f.bed else {
            return self.unplaced(f, (wide, high), named, room);
        };
        let ring = bed.inflate(RING, RING);
        let both = ring.intersect(self.view);
        if both.width() < 0.0 || both.height() < 0.0 {
            return None;
        }
        if !named {
            return room.put(about(ring, (wide, high), OFF * self.unit));
        }
        let rule = self.rule_wide(f);
        let beside = about(ring, (wide + rule, high), OFF * self.unit).into_iter();
        // To the left or right of it, the name would lie on a neighbour, and be taken for its fault.
        let over = |s: &Spot| s.plate.x0 < ring.x1 && s.plate.x1 > ring.x0;
        let beside = beside.take_while(|s| s.leads_to.is_none());
        room.put_free(beside.filter(over))
    }

    /// How wide the name of a finding's rule is beside its number, with a gap.
    fn rule_wide(&self, f: &Finding) -> f64 {
        letters_wide(f.rule, RULE * self.unit) + 6.0 * self.unit
    }

    /// A place for the number of a finding that is about the whole file and has none on the bed: along
    /// the back of the drawing. Without it, a held run would look right.
    fn unplaced(
        &self,
        f: &Finding,
        size: (f64, f64),
        named: bool,
        room: &mut Room,
    ) -> Option<Spot> {
        let (wide, high) = size;
        let wide = if named {
            wide + self.rule_wide(f)
        } else {
            wide
        };
        let free = self
            .view
            .inflate(-wide / 2.0 - 3.0 * self.unit, -high / 2.0 - 3.0 * self.unit);
        if free.width() < 0.0 || free.height() < 0.0 {
            return None;
        }
        let rows = (1..13).map(|row| free.y0 + f64::from(row) * 1.2 * high);
        room.put(rows.flat_map(|y| {
            [0.0, 0.25, 0.5, 0.75, 1.0]
                .map(|part| Spot::at(Point::new(free.x0 + part * free.width(), y), (wide, high)))
        }))
    }

    /// Words at the edge of the drawing for a finding beyond it, with room for an arrow.
    fn told_beyond(&self, f: &Finding, room: &mut Room) -> Option<Spot> {
        let u = self.unit;
        let middle = f.bed?.center();
        let size = (
            letters_wide(&beyond_words(0, f), MEASURE * u),
            1.2 * MEASURE * u,
        );
        let v = self
            .view
            .inflate(-size.0 / 2.0 - ARROW * u, -ARROW * u - size.1);
        if !middle.is_finite() || v.width() < 0.0 || v.height() < 0.0 {
            return None;
        }
        let at = Point::new(middle.x.clamp(v.x0, v.x1), middle.y.clamp(v.y0, v.y1));
        let lines = (0..12).flat_map(|k| [f64::from(k), -f64::from(k)]);
        room.put(lines.map(|k| Spot::at(at + Vec2::new(0.0, k * 1.3 * size.1), size)))
    }

    /// What is written at the edge of the file's page, where that is drawn.
    fn page_words(&self, room: &mut Room) -> Option<Words<'a>> {
        const TEXT: &str = "edge of this file's page";
        let (r, line) = (self.other_page()?, 9.0 * self.unit);
        let rows = [r.y0 + line, r.y1 - line, r.y0 - line, r.y1 + line];
        let middles = rows.into_iter().flat_map(|y| {
            [0.5, 0.25, 0.75, 0.1, 0.9].map(|part| Point::new(r.x0 + part * r.width(), y))
        });
        self.put_words(TEXT, 11.0, middles, room)
    }

    /// Puts words at one of these middles.
    fn put_words(
        &self,
        text: &'a str,
        size: f64,
        middles: impl Iterator<Item = Point>,
        room: &mut Room,
    ) -> Option<Words<'a>> {
        let taken = (letters_wide(text, size * self.unit), 1.2 * size * self.unit);
        let spot = room.put(middles.map(|at| Spot::at(at, taken)))?;
        Some(Words {
            at: spot.plate.center(),
            size,
            text,
        })
    }

    /// Whether an arrow is too short to be seen.
    fn short(&self, from: Point, to: Point) -> bool {
        (to - from).hypot() < SHORTEST * self.unit
    }

    /// The arrow from where something lies to where it belongs, with the distance.
    fn measure(&self, f: &Finding, room: &mut Room) -> Option<Measure> {
        let Picture::Ghost { right, from, to } = &f.picture else {
            return None;
        };
        let way = *to - *from;
        if way.hypot() < 0.005 {
            return None;
        }
        let u = self.unit;
        let words = self.run.shown.length(way.hypot());
        let text = (
            letters_wide(&words, MEASURE * u) + 6.0 * u,
            1.35 * MEASURE * u,
        );
        if !self.short(*from, *to) {
            // Beside the arrow, at one of its parts.
            let across = Vec2::new(-way.y, way.x) / way.hypot();
            let off = (across.x * text.0).abs() / 2.0 + (across.y * text.1).abs() / 2.0 + 5.0 * u;
            let spots = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8]
                .into_iter()
                .flat_map(|part| {
                    let on = from.lerp(*to, part);
                    [1.0, -1.0, 1.6, -1.6, 2.4, -2.4]
                        .map(|k| Spot::at(on + across * (k * off), text))
                });
            // Else beside all of it.
            let beside = about(Rect::from_points(*from, *to), text, OFF * u);
            let spot = room.put(spots.chain(beside))?;
            return Some(Measure {
                from: *from,
                to: *to,
                words,
                spot,
                at: spot.plate.center(),
            });
        }
        // Enlarged: the arrow above its words, both on one plate, somewhere on what it is about.
        let half = way / way.hypot() * (SHORTEST / 2.0 * u);
        let arrow = (2.0 * half.x.abs()).max(8.0 * u) + 6.0 * u;
        let high = (2.0 * half.y.abs()).max(8.0 * u);
        let size = (arrow.max(text.0), high + text.1 + 3.0 * u);
        let ghost = right.bounding_box();
        let within = ghost.inflate(-size.0 / 2.0 - 2.0 * u, -size.1 / 2.0 - 2.0 * u);
        let mut spots = Vec::new();
        if within.width() > 0.0 && within.height() > 0.0 {
            for down in [0.8, 1.0, 0.6, 0.4, 0.2, 0.0] {
                for along in [0.5, 0.25, 0.75, 0.0, 1.0] {
                    let (dx, dy) = (within.width() * along, within.height() * down);
                    spots.push(Spot::at(within.origin() + Vec2::new(dx, dy), size));
                }
            }
        }
        spots.extend(about(ghost.inflate(RING, RING), size, OFF * u));
        let spot = room.put(spots)?;
        let plate = spot.plate;
        let middle = Point::new(plate.center().x, plate.y0 + 3.0 * u + high / 2.0);
        Some(Measure {
            from: middle - half,
            to: middle + half,
            words,
            spot,
            at: Point::new(plate.center().x, plate.y1 - text.1 / 2.0),
        })
    }
}
