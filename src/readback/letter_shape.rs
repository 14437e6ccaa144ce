//! Which way up a word of outlined lettering lies, judged by the shapes of its letters alone.
//!
//! A small network looks at a grey picture of the word and says how much it looks like upright,
//! unmirrored Latin lettering. It is shown the pictures of all eight ways to lay the word back
//! upright; the way that looks most like lettering tells how the word lies, and where none does, it is another script, or
//! no lettering. A word that reads the same in two ways (NOON, half turned) makes two equal pictures, and so stays
//! undecided without anyone having to list such words.
//!
//! How the weights came about, and how often they are right, is told in `tests/training/`.

use super::letter_raster::{HEIGHT, LetterShape, Strip, two_strips};
use super::orientation::{Odds, PerOrientation};
use crate::ids::At;

/// The turns, by cosine and sine, in which a word is looked at: none, and three degrees either
/// way. The mean score is steadier than one score alone.
const TILTS: [[f64; 2]; 3] = [
    [1.0, 0.0],
    [0.998_629_534_754_573_8, 0.052_335_956_242_943_835],
    [0.998_629_534_754_573_8, -0.052_335_956_242_943_835],
];

/// What the network makes of a word.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Judged {
    /// The natural logarithms of the probabilities of the eight orientations, one of them being right.
    pub odds: Odds,
    /// Natural log-odds that one of them is: that it is Latin lettering at all.
    pub known: f64,
}

/// Nothing is known, and the eight are equal: -ln 8.
const UNTOLD: Judged = Judged {
    odds: PerOrientation([-3.0 * std::f64::consts::LN_2; 8]),
    known: f64::NEG_INFINITY,
};

/// The trained network.
#[derive(Debug, Clone)]
pub(crate) struct Model {
    layers: Vec<Layer>,
    /// What a score is divided by, so that the odds are as sure as they are right.
    temperature: f64,
}

/// One convolution, over rows by columns by channels.
#[derive(Debug, Clone)]
struct Layer {
    inputs: usize,
    outputs: usize,
    kernel: [usize; 2],
    stride: [usize; 2],
    pad: [usize; 2],
    /// By kernel row, kernel column, input, output.
    weights: Vec<f32>,
    bias: Vec<f32>,
}

/// Values by row, column, channel.
struct Map {
    rows: usize,
    columns: usize,
    values: Vec<f32>,
}

/// The values of a map that are not nought, each with its channel. Four in five are, and to ask each of them
/// anew at every tap would take longer than the sums.
struct Seen {
    values: Vec<(usize, f32)>,
    /// Where the values of each place start, and where the last end.
    starts: Vec<usize>,
}

impl Seen {
    fn of(map: &Map, channels: usize) -> Self {
        let mut seen = Self {
            values: Vec::new(),
            starts: vec![0],
        };
        for place in map.values.chunks(channels) {
            let values = place.iter().copied().enumerate();
            seen.values.extend(values.filter(|&(_, v)| v != 0.0));
            seen.starts.push(seen.values.len());
        }
        seen
    }

    fn at(&self, place: usize) -> &[(usize, f32)] {
        self.values
            .at(*self.starts.at(place)..*self.starts.at(place + 1))
    }
}

impl Model {
    /// Reads the weights file; `None` if it is not one, or is cut short.
    ///
    /// Layout, little-endian: `JWLS`, a version byte (1), a byte with the number of layers, the
    /// temperature as f32; then for each layer inputs and outputs as u16, kernel, stride and
    /// padding as two bytes each (rows, columns), a f32 scale for each output, a f32 bias for each
    /// output, and the weights as signed bytes by kernel row, kernel column, input, output.
    #[must_use]
    pub(crate) fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let mut rest = bytes.strip_prefix(b"JWLS\x01")?;
        let [count] = take(&mut rest)?;
        let temperature = f64::from(f32::from_le_bytes(take(&mut rest)?));
        let layers = (0..count)
            .map(|_| Layer::read(&mut rest))
            .collect::<Option<Vec<_>>>()?;
        let joined = layers.windows(2).all(|pair| match pair {
            [a, b] => a.outputs == b.inputs,
            _ => false,
        });
        let ends = layers.first()?.inputs == 1 && layers.last()?.outputs == 1;
        (rest.is_empty() && joined && ends && temperature > 0.0).then_some(Self {
            layers,
            temperature,
        })
    }

    /// How a word lies whose line runs along x or y, within a few degrees, and whether it is one.
    ///
    /// The network was taught to score what is no Latin lettering below nought in every orientation: nought is the
    /// score of a ninth class. `word` holds the word's letters in any order. Nothing is known of a word without
    /// extent, or with a coordinate that is not finite.
    #[must_use]
    pub(crate) fn judge(&self, word: &[LetterShape]) -> Judged {
        let mut scores = Odds::default();
        for tilt in TILTS {
            let (lying, standing) = two_strips(word, tilt);
            if [&lying, &standing]
                .iter()
                .any(|s| s.cells.iter().all(|&v| v == 0.0))
            {
                return UNTOLD;
            }
            scores.add(&self.scores(lying, standing));
        }
        let scores = scores.0.map(|v| v / TILTS.len() as f64 / self.temperature);
        if scores.iter().any(|v| !v.is_finite()) {
            return UNTOLD;
        }
        let most = PerOrientation(scores).most();
        let total = most + scores.iter().map(|v| (v - most).exp()).sum::<f64>().ln();
        Judged {
            odds: PerOrientation(scores.map(|v| v - total)),
            known: total,
        }
    }

    /// The scores of a word, or of a sign, laid back from each orientation: of its picture as it lies, and
    /// of that with a quarter turn undone.
    pub(super) fn scores(&self, lying: Strip, standing: Strip) -> Odds {
        let (lying_back, standing_back) = (lying.half_turned(), standing.half_turned());
        let [a, b, c, d] = [lying, standing, lying_back, standing_back]
            .map(|strip| [self.score(&strip), self.score(&strip.mirrored())]);
        PerOrientation([a[0], a[1], b[0], b[1], c[0], c[1], d[0], d[1]])
    }

    /// How much a picture looks like upright, unmirrored lettering: more is more.
    fn score(&self, strip: &Strip) -> f64 {
        let mut map = Map {
            rows: HEIGHT,
            columns: strip.width,
            values: strip.cells.clone(),
        };
        for (n, layer) in self.layers.iter().enumerate() {
            map = layer.run(&map, n + 1 < self.layers.len());
        }
        map.values.iter().map(|&v| f64::from(v)).sum()
    }
}

impl Layer {
    fn read(rest: &mut &[u8]) -> Option<Self> {
        let inputs = usize::from(u16::from_le_bytes(take(rest)?));
        let outputs = usize::from(u16::from_le_bytes(take(rest)?));
        let [kernel_y, kernel_x, stride_y, stride_x, pad_y, pad_x] =
            take::<6>(rest)?.map(usize::from);
        if [inputs, outputs, kernel_y, kernel_x, stride_y, stride_x].contains(&0) {
            return None;
        }
        let scale = floats(rest, outputs)?;
        let bias = floats(rest, outputs)?;
        let count = [kernel_y, kernel_x, inputs, outputs]
            .into_iter()
            .try_fold(1_usize, usize::checked_mul)?;
        let (own, after) = rest.split_at_checked(count)?;
        *rest = after;
        let weights = own
            .iter()
            .zip(scale.iter().cycle())
            .map(|(&b, &s)| f32::from(b.cast_signed()) * s)
            .collect();
        let (kernel, stride, pad) = ([kernel_y, kernel_x], [stride_y, stride_x], [pad_y, pad_x]);
        Some(Self {
            inputs,
            outputs,
            kernel,
            stride,
            pad,
            weights,
            bias,
        })
    }

    /// The convolution of `map`; beyond its edges all is nought.
    fn run(&self, map: &Map, rectify: bool) -> Map {
        let size = |n: usize, a: usize| {
            let [k, s, p] = [self.kernel, self.stride, self.pad]
                .map(|pair| if a == 0 { pair[0] } else { pair[1] });
            (n + 2 * p).checked_sub(k).map_or(0, |room| room / s + 1)
        };
        let (rows, columns) = (size(map.rows, 0), size(map.columns, 1));
        let mut values = Vec::with_capacity(rows * columns * self.outputs);
        let mut sums = self.bias.clone();
        let seen = Seen::of(map, self.inputs);
        for row in 0..rows {
            for column in 0..columns {
                sums.copy_from_slice(&self.bias);
                self.gather(map, &seen, row, column, &mut sums);
                values.extend(sums.iter().map(|&v| if rectify { v.max(0.0) } else { v }));
            }
        }
        Map {
            rows,
            columns,
            values,
        }
    }

    /// Adds to `sums`, one for each output, what the kernel sees at `row`, `column` of the result.
    fn gather(&self, map: &Map, seen: &Seen, row: usize, column: usize, sums: &mut [f32]) {
        let taps = self.weights.chunks(self.inputs * self.outputs);
        let places = (0..self.kernel[0]).flat_map(|y| (0..self.kernel[1]).map(move |x| (y, x)));
        for ((y, x), weights) in places.zip(taps) {
            let place = (row * self.stride[0] + y)
                .checked_sub(self.pad[0])
                .zip((column * self.stride[1] + x).checked_sub(self.pad[1]))
                .filter(|&(r, c)| r < map.rows && c < map.columns);
            // Beside the map there is nothing to see.
            let Some((r, c)) = place else { continue };
            for &(input, value) in seen.at(r * map.columns + c) {
                let weights = weights.at(input * self.outputs..(input + 1) * self.outputs);
                for (sum, weight) in sums.iter_mut().zip(weights) {
                    *sum += value * weight;
                }
            }
        }
    }
}

/// The next `N` bytes of `rest`, which is moved past them.
fn take<const N: usize>(rest: &mut &[u8]) -> Option<[u8; N]> {
    let (own, after) = rest.split_first_chunk::<N>()?;
    *rest = after;
    Some(*own)
}

/// The next `count` f32 of `rest`; `None` if there are fewer, or one is not finite.
fn floats(rest: &mut &[u8], count: usize) -> Option<Vec<f32>> {
    (0..count)
        .map(|_| take(rest).map(f32::from_le_bytes).filter(|v| v.is_finite()))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One layer that adds up the picture's upper left eighth: enough to tell lays apart.
    fn toy() -> Vec<u8> {
        let mut bytes = b"JWLS\x01\x01".to_vec();
        bytes.extend(1.0_f32.to_le_bytes());
        bytes.extend([1, 0, 1, 0, 24, 8, 24, 255, 0, 0]);
        bytes.extend(1.0_f32.to_le_bytes());
        bytes.extend(0.0_f32.to_le_bytes());
        bytes.extend((0..24 * 8).map(|k| u8::from(k < 12 * 8)));
        bytes
    }

    #[test]
    fn a_file_cut_short_or_too_long_is_refused() {
        let whole = toy();
        assert!(Model::from_bytes(&whole).is_some());
        for end in 0..whole.len() {
            assert!(
                whole.get(..end).and_then(Model::from_bytes).is_none(),
                "{end} bytes"
            );
        }
        assert!(Model::from_bytes(&[whole, vec![0]].concat()).is_none());
    }

    #[test]
    fn a_wedge_is_told_from_its_half_turned_self() -> Result<(), &'static str> {
        let model = Model::from_bytes(&toy()).ok_or("toy weights")?;
        // Heavy above left, light below right; y down.
        let wedge = |turn: fn([f64; 2]) -> [f64; 2]| {
            let ring = [[0.0, 0.0], [30.0, 0.0], [0.0, 10.0]].map(turn).to_vec();
            model.judge(&[LetterShape { rings: vec![ring] }]).odds
        };
        let [upright, _, _, _, half, ..] = wedge(|p| p).0;
        let [upright_turned, _, _, _, half_turned, ..] = wedge(|[x, y]| [-x, -y]).0;
        assert!(upright > half);
        assert!((upright - half_turned).abs() < 1e-6 && (half - upright_turned).abs() < 1e-6);
        Ok(())
    }

    #[test]
    fn a_word_without_extent_leaves_all_eight_alike() -> Result<(), &'static str> {
        let model = Model::from_bytes(&toy()).ok_or("toy weights")?;
        for ring in [
            vec![],
            vec![[1.0, 1.0]; 4],
            vec![[0.0, 0.0], [f64::NAN, 1.0], [1.0, 0.0]],
        ] {
            let judged = model.judge(&[LetterShape { rings: vec![ring] }]);
            assert!(judged.known < 0.0);
            assert!(
                judged
                    .odds
                    .0
                    .iter()
                    .all(|v| (v + 8.0_f64.ln()).abs() < 1e-12)
            );
        }
        Ok(())
    }
}
