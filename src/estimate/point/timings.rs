//! A point run at several timings, or several points, side by side.

use super::{AtSpark, Point};
use crate::cycle::{Begun, Burn, ClosedResult, Compression};
use crate::knock::KnockIntegral;

/// Runs of one point at several timings: what comes before the burn is run once.
pub struct Timings<'p, 'a> {
    point: &'p Point<'a>,
    compression: Compression<KnockIntegral>,
}

impl<'a> Timings<'_, 'a> {
    /// Runs the point at some timings [deg before top dead centre], side by side; each as [`Point::at_spark`] does.
    pub fn at_sparks(&mut self, sparks_deg_btdc: &[f64]) -> Vec<AtSpark> {
        let begun = self.begun(sparks_deg_btdc);
        let cycles: Vec<_> = begun.iter().map(|(_, cycle)| *cycle).collect();
        self.ended(&begun, &Begun::finish(&cycles)).collect()
    }

    /// Runs some points, each at its own timings [deg before top dead centre], all side by side.
    pub fn of_all<const N: usize>(points: &[(Point<'a>, [f64; N])]) -> Vec<[AtSpark; N]> {
        let mut timings: Vec<_> = points.iter().map(|(point, _)| point.timings()).collect();
        let begin = |(of_one, (_, sparks)): (&mut Timings<'_, 'a>, &(_, [f64; N]))| of_one.begun(sparks);
        let begun: Vec<_> = timings.iter_mut().zip(points).flat_map(begin).collect();
        let cycles: Vec<_> = begun.iter().map(|(_, cycle)| *cycle).collect();
        let ends = Begun::finish(&cycles);
        let each = timings.iter().zip(begun.chunks(N)).zip(ends.chunks(N));
        let run = |((of_one, begun), ends): ((&Timings<'_, 'a>, _), _)| {
            let runs: Vec<_> = of_one.ended(begun, ends).collect();
            std::array::from_fn(|i| runs[i])
        };
        each.map(run).collect()
    }

    fn begun(&mut self, sparks_deg_btdc: &[f64]) -> Vec<BegunAt<'a>> {
        let cycle = self.point.cycle(self.point.heat_law(self.point.heat_factor));
        let begin = |spark: &f64| {
            let burn = self.point.burn(*spark);
            (burn, cycle.compressed(&mut self.compression, &burn))
        };
        sparks_deg_btdc.iter().map(begin).collect()
    }

    fn ended(
        &self,
        begun: &[BegunAt<'a>],
        ends: &[(ClosedResult, KnockIntegral)],
    ) -> impl Iterator<Item = AtSpark> {
        begun.iter().zip(ends).map(|((burn, _), (closed, knock))| self.point.summed_up(burn, closed, knock))
    }
}

/// A run at a timing that has been begun.
type BegunAt<'a> = (Burn, Begun<'a, KnockIntegral>);

impl<'a> Point<'a> {
    /// Runs at several timings, which share their compression.
    pub fn timings(&self) -> Timings<'_, 'a> {
        Timings { point: self, compression: Compression::new(KnockIntegral::new(self.delay())) }
    }
}
