//! Random bits: eight xoshiro256++ generators side by side, one set for each source and block.
//!
//! Turns (seed, name, place, block) into 64-bit words. The key is the SHA-256 of seed, name and place,
//! its first two words; the state of a block is a chain of splitmix64 over key and block number. So
//! neither the order of the sources nor the number of threads changes a bit, and integers alone are
//! used: every platform has the same ones.
//!
//! Sources: D. Blackman and S. Vigna, xoshiro256++ 1.0; S. Vigna, splitmix64 (both from memory; the
//! words are checked against the published first outputs of splitmix64 and a second implementation).

use crate::model::block::WIDTH;
use pulp::{Arch, Simd, WithSimd};
use sha2::{Digest, Sha256};

/// Words for one column.
pub(super) type Words = [u64; WIDTH];

/// Generators side by side.
const LANES: usize = 8;

/// 2⁶⁴ over the golden ratio, odd: the step of splitmix64.
const STEP: u64 = 0x9e37_79b9_7f4a_7c15;

/// What the stream of a source depends on besides the block.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Key([u64; 2]);

impl Key {
    /// Returns the key of a source; `place` is the point's text, `None` what all points share.
    pub(super) fn new(seed: u64, name: &str, place: Option<&str>) -> Key {
        let mut hash = Sha256::new();
        hash.update(seed.to_le_bytes());
        hash.update((name.len() as u64).to_le_bytes());
        hash.update(name.as_bytes());
        hash.update([u8::from(place.is_some())]);
        hash.update(place.unwrap_or_default().as_bytes());
        let digest = hash.finalize();
        let word = |from: usize| {
            (0..8).rev().fold(0, |word, at| (word << 8) | u64::from(digest[from + at]))
        };
        Key([word(0), word(8)])
    }
}

/// The generators of one source in one block.
#[derive(Debug, Clone)]
pub(super) struct Lanes {
    state: [[u64; LANES]; 4],
}

impl Lanes {
    /// Returns the generators of a source in block `block`.
    pub(super) fn new(key: Key, block: u64) -> Lanes {
        let [first, second] = key.0;
        let mut one = mixed(first.wrapping_add(mixed(block)));
        let mut two = mixed(second ^ mixed(block.wrapping_add(STEP)));
        let mut state = [[0; LANES]; 4];
        for word in state.iter_mut().flatten() {
            one = one.wrapping_add(STEP);
            two = two.wrapping_add(STEP);
            *word = mixed(one) ^ mixed(mixed(two));
        }
        Lanes { state }
    }

    /// Fills `words`; the i-th comes from generator i modulo 8.
    #[inline(always)]
    pub(super) fn fill(&mut self, words: &mut [u64]) {
        let [mut a, mut b, mut c, mut d] = self.state;
        for row in words.chunks_exact_mut(LANES) {
            for i in 0..LANES {
                row[i] = a[i].wrapping_add(d[i]).rotate_left(23).wrapping_add(a[i]);
                let shifted = b[i] << 17;
                c[i] ^= a[i];
                d[i] ^= b[i];
                b[i] ^= c[i];
                a[i] ^= d[i];
                c[i] ^= shifted;
                d[i] = d[i].rotate_left(45);
            }
        }
        self.state = [a, b, c, d];
    }
}

/// Makes `count` words and returns the last.
pub(super) fn words_only(arch: Arch, count: u64) -> u64 {
    struct Fill<'a>(&'a mut Lanes, &'a mut Words);
    impl WithSimd for Fill<'_> {
        type Output = ();

        #[inline(always)]
        fn with_simd<S: Simd>(self, _: S) {
            self.0.fill(self.1);
        }
    }
    let (mut lanes, mut words) = (Lanes::new(Key::new(1, "", None), 0), [0; WIDTH]);
    for _ in 0..count.div_ceil(WIDTH as u64) {
        arch.dispatch(Fill(&mut lanes, std::hint::black_box(&mut words)));
    }
    words[0]
}

/// The mixing of splitmix64.
fn mixed(word: u64) -> u64 {
    let word = (word ^ (word >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let word = (word ^ (word >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    word ^ (word >> 31)
}

/// Returns a number in the open interval from 0 to 1: the middle of one of 2⁵² equal parts.
#[inline(always)]
pub(super) fn open_unit(word: u64) -> f64 {
    f64::from_bits((word >> 12) | ONE) - BELOW_ONE
}

/// Returns a number between -½ and ½, neither included, by the same parts.
#[inline(always)]
pub(super) fn centred(word: u64) -> f64 {
    open_unit(word) - 0.5
}

const ONE: u64 = 0x3ff0_0000_0000_0000;
/// 1 - 2⁻⁵³: what is left of 1 + k·2⁻⁵² is exact, (2k + 1)·2⁻⁵³.
const BELOW_ONE: f64 = 1.0 - f64::EPSILON / 2.0;

#[cfg(test)]
mod tests {
    use super::*;

    /// The first outputs of splitmix64 from 0, as published with Java's SplittableRandom and often since
    /// (from memory); the words of a block are of these mixings.
    #[test]
    fn mixing_is_that_of_splitmix64() {
        let known = [0xe220_a839_7b1d_cdaf, 0x6e78_9e6a_a1b9_65f4, 0x06c4_5d18_8009_454f];
        for (i, expected) in (1..).zip(known) {
            assert_eq!(mixed(STEP.wrapping_mul(i)), expected);
        }
    }

    /// Outputs of xoshiro256++ from the state 1, 2, 3, 4: test vector of the reference implementation
    /// (from memory). All lanes step alike.
    #[test]
    fn lanes_step_like_the_reference() {
        let mut lanes = Lanes { state: [[1; LANES], [2; LANES], [3; LANES], [4; LANES]] };
        let mut words = [0; WIDTH];
        lanes.fill(&mut words);
        let known: [u64; 6] = [
            41_943_041,
            58_720_359,
            3_588_806_011_781_223,
            3_591_011_842_654_386,
            9_228_616_714_210_784_205,
            9_973_669_472_204_895_162,
        ];
        for (row, expected) in words.chunks(LANES).zip(known) {
            assert!(row.iter().all(|it| *it == expected), "{row:?}");
        }
    }

    /// Streams of neighbouring seeds, names, places and blocks are uncorrelated: of the 45 pairs of a
    /// case none is beyond 4.5/√n, which happens once in 3000 runs; so are the lanes of one stream.
    #[test]
    fn neighbouring_streams_are_independent() {
        let mut streams: Vec<Vec<f64>> = Vec::new();
        let numbers = |key: Key, block: u64| -> Vec<f64> {
            let mut lanes = Lanes::new(key, block);
            let mut words = [0; WIDTH];
            (0..400)
                .flat_map(|_| {
                    lanes.fill(&mut words);
                    words.map(centred)
                })
                .collect()
        };
        for (seed, name, place, block) in [
            (1, "a", None, 0),
            (1, "a", None, 1),
            (1, "a", None, 2),
            (2, "a", None, 0),
            (1 << 63, "a", None, 0),
            (1, "b", None, 0),
            (1, "aa", None, 0),
            (1, "a", Some(""), 0),
            (1, "a", Some("1"), 0),
            (1, "a1", None, 0),
        ] {
            streams.push(numbers(Key::new(seed, name, place), block));
        }
        let correlation = |a: &[f64], b: &[f64]| {
            12.0 * a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>() / a.len() as f64
        };
        let bound = 4.5 / (streams[0].len() as f64).sqrt();
        for (i, first) in streams.iter().enumerate() {
            for (j, second) in streams[..i].iter().enumerate() {
                assert!(correlation(first, second).abs() < bound, "{i} {j}");
            }
        }
        let one = &streams[0];
        for lag in 1..=2 * LANES {
            let shifted = &one[lag..];
            assert!(correlation(&one[..shifted.len()], shifted).abs() < bound, "{lag}");
        }
    }

    #[test]
    fn numbers_stay_inside_their_interval() {
        assert_eq!(open_unit(0), f64::EPSILON / 2.0);
        assert_eq!(open_unit(u64::MAX), 1.0 - f64::EPSILON / 2.0);
        assert_eq!(centred(0), -0.5 + f64::EPSILON / 2.0);
        assert_eq!(centred(u64::MAX), -centred(0));
    }
}
