//! Makes a text small enough for a printed code. What comes next is guessed from what stood after the same letters
//! before, bit by bit, by several guesses whose weights are learned; the surer the guess, the fewer bits are spent
//! (context mixing into a binary arithmetic coder, both textbook). It has read [`PRIMER`] before the first bit, so that
//! the names of fields and what ships cost next to nothing. Whole numbers only: page and shell write the same bytes.

/// Read before the text. It must never change: what was written after it is read only after it.
const PRIMER: &str = include_str!("primer_1.txt");

/// Longest text [bytes]; a case is a tenth of that.
pub const LONGEST: usize = 100_000;

/// So many bytes before a bit, for each guess.
const ORDERS: [usize; 6] = [1, 2, 3, 4, 6, 9];
/// Guesses: one an order, one from the last place that ended alike, one that never changes.
const GUESSES: usize = ORDERS.len() + 2;
/// Cells of one order, as a power of two.
const CELLS: u32 = 17;
/// Bytes that make two places alike.
const ALIKE: usize = 5;
/// Places remembered, as a power of two.
const PLACES: u32 = 14;
/// Longest stretch alike that counts.
const LONG: usize = 31;
/// How fast weights are learned.
const PACE: i32 = 10;

/// The chance of a 1: 22 bits of it, then how often it was met.
#[derive(Clone, Copy)]
struct Cell(u32);

impl Cell {
    const NEW: Cell = Cell(1 << 31);

    /// Of 4096.
    fn chance(self) -> i32 {
        i32::try_from(self.0 >> 20).unwrap_or(2048)
    }

    fn learn(&mut self, bit: bool, most: u32) {
        let (chance, met) = (i64::from(self.0 >> 10), i64::from(self.0 & 1023));
        let towards = if bit { (1 << 22) - 1 } else { 0 };
        // (towards − chance) / (met + 1.5)
        let chance = chance + (towards - chance) * 2 / (met * 2 + 3);
        let met = u32::try_from(met).unwrap_or(0);
        let chance = u32::try_from(chance.clamp(0, (1 << 22) - 1)).unwrap_or(0);
        self.0 = chance << 10 | (met + u32::from(met < most));
    }
}

/// 4096 / (1 + e^(−x / 256)), by straight lines between 33 points.
fn squash(x: i32) -> i32 {
    const AT: [i32; 33] = [
        1, 2, 3, 6, 10, 16, 27, 45, 73, 120, 194, 310, 488, 747, 1101, 1546, 2047, 2549, 2994, 3348, 3607,
        3785, 3901, 3975, 4022, 4050, 4068, 4079, 4085, 4089, 4092, 4093, 4094,
    ];
    let x = x.clamp(-2047, 2047) + 2048;
    let (step, rest) = (usize::try_from(x >> 7).unwrap_or(0), x & 127);
    let at = |n: usize| AT.get(n).copied().unwrap_or(4094);
    (at(step) * (128 - rest) + at(step + 1) * rest + 64) >> 7
}

/// The way back of [`squash`], for each of 4096 chances.
fn stretches() -> Vec<i32> {
    let mut all = Vec::with_capacity(4096);
    for x in -2047..=2047 {
        let until = usize::try_from(squash(x)).unwrap_or(0);
        while all.len() <= until {
            all.push(x);
        }
    }
    all.resize(4096, 2047);
    all
}

struct Model {
    stretch: Vec<i32>,
    read: Vec<u8>,
    /// A 1, then the bits of the byte that is being read.
    begun: u32,
    cells: Vec<Cell>,
    /// Each order's context, as a number.
    before: [u32; ORDERS.len()],
    slots: [usize; ORDERS.len()],
    /// Where each ending was met last.
    places: Vec<usize>,
    /// What followed it, and how long it was alike.
    follows: usize,
    alike: usize,
    /// How often what followed followed again, by length alike and bit.
    again: Vec<Cell>,
    again_slot: Option<usize>,
    weights: Vec<i32>,
    set: usize,
    guesses: [i32; GUESSES],
    chance: i32,
}

impl Model {
    fn new() -> Self {
        let mut model = Self {
            stretch: stretches(),
            read: Vec::with_capacity(PRIMER.len() * 2),
            begun: 1,
            cells: vec![Cell::NEW; ORDERS.len() << CELLS],
            before: [0; ORDERS.len()],
            slots: [0; ORDERS.len()],
            places: vec![0; 1 << PLACES],
            follows: 0,
            alike: 0,
            again: vec![Cell::NEW; (LONG + 1) * 2],
            again_slot: None,
            weights: vec![20_000; GUESSES * 4],
            set: 0,
            guesses: [0; GUESSES],
            chance: 2048,
        };
        model.guess();
        for byte in PRIMER.bytes() {
            for bit in bits(byte) {
                model.learn(bit);
            }
        }
        model
    }

    fn guess(&mut self) {
        let Self { stretch, begun, cells, before, slots, again, guesses, .. } = self;
        for (order, (slot, before)) in slots.iter_mut().zip(before.iter()).enumerate() {
            let mixed = (before ^ begun.wrapping_mul(0x9E37_79B1)).wrapping_mul(0x85EB_CA6B);
            let within = usize::try_from(mixed >> (32 - CELLS)).unwrap_or(0);
            *slot = (order << CELLS) | within;
            let chance = cells.get(*slot).map_or(2048, |cell| cell.chance());
            set(guesses, order, stretched(stretch, chance));
        }
        let expected = self.read.get(self.follows).copied().filter(|_| self.alike > 0);
        // Of the byte that followed, as long as its bits agree: the next one.
        let next = expected.and_then(|byte| {
            let whole = u32::from(byte) | 256;
            let left = begun.leading_zeros().checked_sub(23)?;
            (whole >> left == *begun && left > 0).then(|| whole >> (left - 1) & 1 == 1)
        });
        self.again_slot = next.map(|bit| self.alike.min(LONG) * 2 + usize::from(bit));
        let chance = self.again_slot.and_then(|slot| again.get(slot)).map_or(2048, |cell| cell.chance());
        set(guesses, ORDERS.len(), stretched(stretch, chance));
        set(guesses, ORDERS.len() + 1, 256);
        self.set = match (next, self.alike) {
            (None, _) => 0,
            (_, ..=8) => 1,
            (_, ..=20) => 2,
            _ => 3,
        };
        let weights = self.weights.iter().skip(self.set * GUESSES);
        let sum: i64 = weights.zip(guesses.iter()).map(|(w, g)| i64::from(*w) * i64::from(*g)).sum();
        self.chance = squash(i32::try_from((sum >> 16).clamp(-2047, 2047)).unwrap_or(0)).clamp(1, 4095);
    }

    fn learn(&mut self, bit: bool) {
        let missed = ((i32::from(bit) << 12) - self.chance) * PACE;
        let weights = self.weights.iter_mut().skip(self.set * GUESSES);
        for (weight, guess) in weights.zip(self.guesses) {
            *weight = weight.saturating_add((guess * missed + 0x2000) >> 14);
        }
        for slot in self.slots {
            if let Some(cell) = self.cells.get_mut(slot) {
                cell.learn(bit, 60);
            }
        }
        if let Some(cell) = self.again_slot.and_then(|slot| self.again.get_mut(slot)) {
            cell.learn(bit, 60);
        }
        self.begun = self.begun << 1 | u32::from(bit);
        if self.begun > 255 {
            let byte = u8::try_from(self.begun & 255).unwrap_or(0);
            self.begun = 1;
            self.took(byte);
        }
        self.guess();
    }

    /// A whole byte was read.
    fn took(&mut self, byte: u8) {
        let went_on = self.alike > 0 && self.read.get(self.follows) == Some(&byte);
        self.read.push(byte);
        (self.follows, self.alike) = if went_on { (self.follows + 1, self.alike + 1) } else { (0, 0) };
        for (before, order) in self.before.iter_mut().zip(ORDERS) {
            *before = hash(self.read.iter().rev().take(order), u32::try_from(order).unwrap_or(0));
        }
        if self.read.len() < ALIKE {
            return;
        }
        let ending = hash(self.read.iter().rev().take(ALIKE), 99);
        let place = usize::try_from(ending >> (32 - PLACES)).unwrap_or(0);
        let now = self.read.len();
        if let Some(place) = self.places.get_mut(place) {
            let before = std::mem::replace(place, now);
            if self.alike == 0 && before > 0 {
                let ends = |at: usize| self.read.get(..at).unwrap_or_default().iter().rev();
                let alike = ends(before).zip(ends(now)).take(LONG).take_while(|(a, b)| a == b).count();
                (self.follows, self.alike) = (before, alike);
            }
        }
    }
}

fn set(guesses: &mut [i32; GUESSES], at: usize, to: i32) {
    if let Some(guess) = guesses.get_mut(at) {
        *guess = to;
    }
}

fn stretched(stretch: &[i32], chance: i32) -> i32 {
    usize::try_from(chance).ok().and_then(|at| stretch.get(at)).copied().unwrap_or(0)
}

fn hash<'a>(bytes: impl Iterator<Item = &'a u8>, seed: u32) -> u32 {
    let all = bytes.fold(seed.wrapping_add(1), |all, byte| {
        (all ^ u32::from(*byte)).wrapping_mul(0x0100_0193).rotate_left(5)
    });
    all.wrapping_mul(0x9E37_79B1)
}

fn bits(byte: u8) -> impl Iterator<Item = bool> {
    (0..8).rev().map(move |n| byte >> n & 1 == 1)
}

/// Where between its ends the next bit parts the range.
fn parting(low: u32, high: u32, chance: i32) -> u32 {
    let (range, chance) = (high - low, u32::try_from(chance).unwrap_or(2048));
    low + (range >> 12) * chance + (((range & 0xFFF) * chance) >> 12)
}

/// A text, squeezed; `None` when it is longer than [`LONGEST`].
pub fn squeeze(text: &str) -> Option<Vec<u8>> {
    if text.len() > LONGEST {
        return None;
    }
    let mut out = Vec::new();
    let mut rest = text.len();
    while rest > 127 {
        out.push(u8::try_from(rest & 127).unwrap_or(0) | 128);
        rest >>= 7;
    }
    out.push(u8::try_from(rest).unwrap_or(0));
    let (mut model, mut low, mut high) = (Model::new(), 0_u32, u32::MAX);
    for bit in text.bytes().flat_map(bits) {
        let at = parting(low, high, model.chance);
        if bit {
            high = at;
        } else {
            low = at + 1;
        }
        model.learn(bit);
        while (low ^ high) >> 24 == 0 {
            out.push(high.to_be_bytes()[0]);
            low <<= 8;
            high = high << 8 | 255;
        }
    }
    // One more byte stands between both ends, whatever is read after it; missing ones are read as nothing.
    let [first, ..] = low.to_be_bytes();
    out.push(first.saturating_add(1));
    Some(out)
}

/// The way back; `None` for what no text was squeezed into. What was changed on the way may give another text.
pub fn unsqueeze(bytes: &[u8]) -> Option<String> {
    let (mut length, mut left) = (0_usize, bytes.iter().copied());
    for shift in [0, 7, 14] {
        let byte = left.next()?;
        length |= usize::from(byte & 127) << shift;
        if byte < 128 {
            break;
        }
    }
    if length > LONGEST {
        return None;
    }
    let (mut model, mut low, mut high) = (Model::new(), 0_u32, u32::MAX);
    let mut at = (0..4).fold(0_u32, |at, _| at << 8 | u32::from(left.next().unwrap_or(0)));
    let mut text = Vec::with_capacity(length);
    while text.len() < length {
        let mut byte = 0;
        for _ in 0..8 {
            let parts = parting(low, high, model.chance);
            let bit = at <= parts;
            if bit {
                high = parts;
            } else {
                low = parts + 1;
            }
            model.learn(bit);
            byte = byte << 1 | u8::from(bit);
            while (low ^ high) >> 24 == 0 {
                low <<= 8;
                high = high << 8 | 255;
                at = at << 8 | u32::from(left.next().unwrap_or(0));
            }
        }
        text.push(byte);
    }
    String::from_utf8(text).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]

        #[test]
        fn what_was_squeezed_comes_back(text in ".{0,400}") {
            let squeezed = squeeze(&text).unwrap();
            prop_assert_eq!(unsqueeze(&squeezed), Some(text));
        }

        #[test]
        fn any_bytes_give_a_text_or_none(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
            // Short lengths only: a long one is tried once below.
            let mut bytes = bytes;
            if let Some(second) = bytes.get_mut(1) {
                *second &= 15;
            }
            drop(unsqueeze(&bytes));
        }
    }

    #[test]
    fn the_longest_text_comes_back_and_a_longer_one_is_refused() {
        let text: String =
            (0..LONGEST).map(|n| char::from(b'a' + u8::try_from(n * n % 23).unwrap())).collect();
        let squeezed = squeeze(&text).unwrap();
        assert_eq!(unsqueeze(&squeezed), Some(text.clone()));
        assert_eq!(squeeze(&(text + "x")), None);
        assert_eq!(unsqueeze(&[255, 255, 127]), None);
        assert_eq!(unsqueeze(&[]), None);
    }

    #[test]
    fn what_it_has_read_before_costs_next_to_nothing() {
        let squeezed = squeeze(PRIMER).unwrap();
        assert!(squeezed.len() * 40 < PRIMER.len(), "{} of {}", squeezed.len(), PRIMER.len());
    }
}
