//! Straightness of a profile in the plane.

use geo::ConvexHull;
use geo::MultiPoint;

/// A zone between two parallel lines.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zone {
    /// Width, in the unit of the points.
    pub width: f64,
    /// Unit vector along the lines.
    pub direction: [f64; 2],
    /// A point on the middle line.
    pub middle: [f64; 2],
}

impl Zone {
    /// Coordinates of `p` along the middle line and to the left of it.
    pub fn coordinates(&self, p: [f64; 2]) -> [f64; 2] {
        let d = [p[0] - self.middle[0], p[1] - self.middle[1]];
        let [c, s] = self.direction;
        [d[0] * c + d[1] * s, d[1] * c - d[0] * s]
    }
}

/// Minimum-zone straightness (ISO 1101; ISO 12780-1:2011, minimum-zone reference lines): two parallel
/// lines of least separation that hold every point. In the plane this is the least width of the convex
/// hull, and one of the lines lies along a hull edge. `None` for fewer than two distinct points.
pub fn minimum_zone(points: &[[f64; 2]]) -> Option<Zone> {
    let cloud: MultiPoint<f64> = points.iter().map(|&[x, y]| geo::Point::new(x, y)).collect();
    let hull: Vec<[f64; 2]> = cloud.convex_hull().exterior().coords().map(|c| [c.x, c.y]).collect();
    if hull.len() < 2 {
        return None;
    }
    let mut best: Option<Zone> = None;
    for edge in hull.windows(2) {
        let [a, b] = [edge[0], edge[1]];
        let length = (b[0] - a[0]).hypot(b[1] - a[1]);
        if length == 0.0 {
            continue;
        }
        let line = Zone {
            width: 0.0,
            direction: [(b[0] - a[0]) / length, (b[1] - a[1]) / length],
            middle: a,
        };
        // Rounding may leave a hull point a hair outside an edge, so both sides count.
        let (least, most) = hull
            .iter()
            .map(|&p| line.coordinates(p)[1])
            .fold((0.0_f64, 0.0_f64), |(l, m), d| (l.min(d), m.max(d)));
        let width = most - least;
        if best.is_none_or(|z| width < z.width) {
            let [c, s] = line.direction;
            let half = (least + most) / 2.0;
            let middle = [a[0] - s * half, a[1] + c * half];
            best = Some(Zone { width, middle, ..line });
        }
    }
    best
}

/// Peak-to-valley deviation about the least-squares line of y on the direction of the points' ends
/// (ISO 12780-1:2011, least-squares reference line), and its root mean square.
pub fn least_squares(points: &[[f64; 2]]) -> Option<(f64, f64)> {
    let (first, last) = (*points.first()?, *points.last()?);
    let length = (last[0] - first[0]).hypot(last[1] - first[1]);
    if length == 0.0 || points.len() < 2 {
        return None;
    }
    let frame = Zone {
        width: 0.0,
        direction: [(last[0] - first[0]) / length, (last[1] - first[1]) / length],
        middle: first,
    };
    let local: Vec<[f64; 2]> = points.iter().map(|&p| frame.coordinates(p)).collect();
    let n = local.len() as f64;
    let mean = |c: usize| local.iter().map(|p| p[c]).sum::<f64>() / n;
    let (mx, my) = (mean(0), mean(1));
    let sxx: f64 = local.iter().map(|p| (p[0] - mx).powi(2)).sum();
    let sxy: f64 = local.iter().map(|p| (p[0] - mx) * (p[1] - my)).sum();
    let slope = if sxx > 0.0 { sxy / sxx } else { 0.0 };
    let residual = |p: &[f64; 2]| p[1] - my - slope * (p[0] - mx);
    let (least, most) = local
        .iter()
        .map(residual)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, m), r| (l.min(r), m.max(r)));
    let rms = (local.iter().map(|p| residual(p).powi(2)).sum::<f64>() / n).sqrt();
    let scale = (1.0 + slope * slope).sqrt();
    Some(((most - least) / scale, rms / scale))
}
