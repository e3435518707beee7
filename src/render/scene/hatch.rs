//! Hatching as lines that end at the edge of an area.

/// The direction of the lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Slope {
    /// From below left to above right.
    Rising,
    /// From above left to below right.
    Falling,
}

/// Returns the lines inside an outline (inside by the rule of even and odd), `apart` from each other. All
/// areas of a sheet share one raster, so that neighbours fit together.
pub(super) fn lines(outline: &[[f64; 2]], slope: Slope, apart: f64) -> Vec<Vec<[f64; 2]>> {
    let turn = if slope == Slope::Rising { 1.0 } else { -1.0 };
    // A line holds all points with the same x + turn·y, y running down.
    let across = |it: &[f64; 2]| it[0] + turn * it[1];
    let step = apart * std::f64::consts::SQRT_2;
    let (mut least, mut largest) = (f64::INFINITY, f64::NEG_INFINITY);
    for it in outline.iter().map(across) {
        (least, largest) = (least.min(it), largest.max(it));
    }
    if !(least < largest && largest - least < 1e5) {
        return Vec::new();
    }
    let mut found = Vec::new();
    let mut at = (least / step).ceil() * step;
    while at < largest {
        let mut cuts: Vec<f64> = Vec::new();
        for (index, p) in outline.iter().enumerate() {
            let q = &outline[(index + 1) % outline.len()];
            let (a, b) = (across(p), across(q));
            if (a <= at) != (b <= at) {
                cuts.push(p[0] + (at - a) / (b - a) * (q[0] - p[0]));
            }
        }
        cuts.sort_by(f64::total_cmp);
        let point = |x: f64| [x, turn * (at - x)];
        for pair in cuts.chunks_exact(2).filter(|it| it[1] - it[0] > 0.5) {
            found.push(vec![point(pair[0]), point(pair[1])]);
        }
        at += step;
    }
    found
}

/// Returns the lines without what lies in the rooms (left, top, right, bottom), so that letters there can be read.
pub(super) fn without(mut lines: Vec<Vec<[f64; 2]>>, rooms: &[[f64; 4]]) -> Vec<Vec<[f64; 2]>> {
    for room in rooms {
        lines = lines.iter().flat_map(|it| outside(it, room)).collect();
    }
    lines
}

/// The parts of a line from one point to another that lie outside a room.
fn outside(line: &[[f64; 2]], [left, top, right, bottom]: &[f64; 4]) -> Vec<Vec<[f64; 2]>> {
    let &[p, q] = line else { return vec![line.to_vec()] };
    // Inside from one part of the way to another.
    let mut inside = [0.0_f64, 1.0_f64];
    for (from, to, low, high) in [(p[0], q[0], left, right), (p[1], q[1], top, bottom)] {
        let way = to - from;
        if way == 0.0 {
            if from <= *low || *high <= from {
                return vec![line.to_vec()];
            }
            continue;
        }
        let (one, other) = ((low - from) / way, (high - from) / way);
        inside = [inside[0].max(one.min(other)), inside[1].min(one.max(other))];
    }
    if inside[0] >= inside[1] {
        return vec![line.to_vec()];
    }
    let at = |part: f64| [p[0] + part * (q[0] - p[0]), p[1] + part * (q[1] - p[1])];
    let before = (inside[0] > 0.0).then(|| vec![p, at(inside[0])]);
    let after = (inside[1] < 1.0).then(|| vec![at(inside[1]), q]);
    before.into_iter().chain(after).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: the diagonal from (0, 0) to (10, 10) is in the room from (2, 4) to (6, 8) between 4 and 6.
    #[test]
    fn hatching_leaves_the_room_of_letters_free() {
        let cut =
            |from: [f64; 2], to: [f64; 2]| without(vec![vec![from, to]], &[[2.0, 4.0, 6.0, 8.0]]);
        let parts = cut([0.0, 0.0], [10.0, 10.0]);
        assert_eq!(parts, [[[0.0, 0.0], [4.0, 4.0]], [[6.0, 6.0], [10.0, 10.0]]]);
        assert!(cut([3.0, 5.0], [5.0, 7.0]).is_empty(), "all of it inside");
        assert_eq!(cut([0.0, 0.0], [5.0, 5.0]), [[[0.0, 0.0], [4.0, 4.0]]]);
        for (from, to) in
            [([0.0, 3.0], [9.0, 3.0]), ([7.0, 0.0], [7.0, 9.0]), ([0.0, 7.0], [3.0, 10.0])]
        {
            assert_eq!(cut(from, to), [[from, to]], "beside it");
        }
    }

    /// By hand: x + y = 0 and 10·√2·k in the square from 0 to 20 cut it at 14.14 and 28.28: from (14.14, 0) to
    /// (0, 14.14) and from (20, 8.28) to (8.28, 20).
    #[test]
    fn lines_end_at_the_edge() {
        let square = [[0.0, 0.0], [20.0, 0.0], [20.0, 20.0], [0.0, 20.0]];
        let found = lines(&square, Slope::Rising, 10.0);
        let expected = [[[0.0, 14.142], [14.142, 0.0]], [[8.284, 20.0], [20.0, 8.284]]];
        assert_eq!(found.len(), 2);
        for (line, ends) in found.iter().zip(expected) {
            for (at, end) in line.iter().zip(ends) {
                assert!(
                    (at[0] - end[0]).abs() < 1e-3 && (at[1] - end[1]).abs() < 1e-3,
                    "{found:?}"
                );
            }
        }
    }

    #[test]
    fn a_hollow_stays_empty_and_nothing_has_no_lines() {
        let u = [
            [0.0, 0.0],
            [30.0, 0.0],
            [30.0, 30.0],
            [20.0, 30.0],
            [20.0, 5.0],
            [10.0, 5.0],
            [10.0, 30.0],
            [0.0, 30.0],
        ];
        for line in lines(&u, Slope::Falling, 3.0) {
            let middle = [0.5 * (line[0][0] + line[1][0]), 0.5 * (line[0][1] + line[1][1])];
            let hollow = 10.0 < middle[0] && middle[0] < 20.0 && middle[1] > 5.0;
            assert!(!hollow, "{line:?}");
        }
        assert!(lines(&[[1.0, 1.0], [1.0, 1.0]], Slope::Rising, 3.0).is_empty());
        assert!(lines(&[], Slope::Rising, 3.0).is_empty());
    }
}
