//! Random draws that are the same on every machine.
//!
//! PCG-XSL-128/64 (MCG) from the `rand_pcg` crate; every purpose has its own stream, so that a further draw in one
//! part of a scene does not shift the numbers of another part.

use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::Rng;

/// A stream of draws for one purpose.
#[derive(Clone, Debug)]
pub struct Draw {
    generator: Pcg64Mcg,
    spare: Option<f64>,
}

impl Draw {
    /// Stream of a seed for a purpose; `purpose` is any short word.
    #[must_use]
    pub fn new(seed: u64, purpose: &str) -> Self {
        // FNV-1a (open, published) spreads the word; SplitMix64's finalizer (open, published) spreads the seed, since
        // neighboring seeds of a multiplicative generator are correlated.
        let mut word: u64 = 0xcbf2_9ce4_8422_2325;
        for byte in purpose.bytes() {
            word = (word ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
        let high = mix(seed ^ word);
        let low = mix(high ^ seed.rotate_left(32));
        Self { generator: Pcg64Mcg::new((u128::from(high) << 64) | u128::from(low)), spare: None }
    }

    /// 64 random bits.
    pub fn word(&mut self) -> u64 {
        self.generator.next_u64()
    }

    /// Uniform in [0, 1), on a grid of 2⁻⁵³.
    pub fn unit(&mut self) -> f64 {
        (self.word() >> 11) as f64 * (1.0 / 9_007_199_254_740_992.0)
    }

    /// Uniform in [`from`, `to`).
    pub fn uniform(&mut self, from: f64, to: f64) -> f64 {
        from + (to - from) * self.unit()
    }

    /// True with probability `share`.
    pub fn chance(&mut self, share: f64) -> bool {
        self.unit() < share
    }

    /// −1 or 1.
    pub fn sign(&mut self) -> f64 {
        if self.chance(0.5) { 1.0 } else { -1.0 }
    }

    /// Index below `count` (> 0).
    pub fn index(&mut self, count: usize) -> usize {
        ((self.unit() * count as f64) as usize).min(count - 1)
    }

    /// Normal with mean 0 and the given standard deviation (Box–Muller; both numbers of a pair are used).
    pub fn normal(&mut self, sigma: f64) -> f64 {
        if let Some(spare) = self.spare.take() {
            return sigma * spare;
        }
        // 1 − unit is in (0, 1], so the logarithm is finite.
        let radius = libm::sqrt(-2.0 * libm::log(1.0 - self.unit()));
        let (sine, cosine) = libm::sincos(std::f64::consts::TAU * self.unit());
        self.spare = Some(radius * sine);
        sigma * radius * cosine
    }
}

const fn mix(mut z: u64) -> u64 {
    z = z.wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normal_draws_have_the_stated_spread_and_no_memory() {
        let mut draw = Draw::new(5, "test");
        let values: Vec<f64> = (0..40_000).map(|_| draw.normal(2.0)).collect();
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        let variance = values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / n;
        let lag = values.windows(2).map(|w| w[0] * w[1]).sum::<f64>() / n / variance;
        // Four standard errors each: 2/√n, 4·√(2/n), 1/√n.
        assert!(mean.abs() < 0.04, "{mean}");
        assert!((variance - 4.0).abs() < 0.113, "{variance}");
        assert!(lag.abs() < 0.02, "{lag}");
    }

    #[test]
    fn streams_and_seeds_differ() {
        let first = |seed, purpose| Draw::new(seed, purpose).unit();
        assert_ne!(first(1, "a"), first(1, "b"));
        assert_ne!(first(1, "a"), first(2, "a"));
        assert_eq!(first(1, "a"), first(1, "a"));
    }
}
