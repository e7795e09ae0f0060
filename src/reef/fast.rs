//! Single-precision arithmetic of the hot loop: plain operations only, so that the compiler can use vectors and the
//! result is the same bits on every machine.

/// `exp(x)` for |x| below 80, relative error about 2e-7: splits off the power of two, then a polynomial of degree 6.
#[inline(always)]
pub fn exp(x: f32) -> f32 {
    // Adding 1.5 * 2^23 rounds to a whole number and leaves it in the low bits.
    const ROUND: f32 = 12_582_912.0;
    let scaled = x * std::f32::consts::LOG2_E;
    let rounded = scaled + ROUND;
    let f = scaled - (rounded - ROUND);
    let p = 1.540_353e-4_f32;
    let p = p * f + 1.333_355_8e-3;
    let p = p * f + 9.618_129e-3;
    let p = p * f + 5.550_411e-2;
    let p = p * f + 2.402_265e-1;
    let p = p * f + std::f32::consts::LN_2;
    let p = p * f + 1.0;
    p * f32::from_bits(rounded.to_bits().wrapping_sub(0x4B40_0000 - 127) << 23)
}

/// `ln(x)` for positive normal x, absolute error about 1e-7 and relative error about 2e-7: splits off the power of two, then
/// a polynomial of degree 9 about 1 (coefficients of the single-precision logarithm of S. Moshier's public Cephes library,
/// from memory; tested below).
#[inline(always)]
pub fn ln(x: f32) -> f32 {
    // The bits of the root of one half: what is left lies between it and the root of two.
    let power = (x.to_bits().wrapping_sub(0x3F35_04F3) as i32) >> 23;
    let t = f32::from_bits(x.to_bits().wrapping_sub((power as u32) << 23)) - 1.0;
    let square = t * t;
    let p = 7.037_683_6e-2_f32;
    let p = p * t - 1.151_461e-1;
    let p = p * t + 1.167_699_9e-1;
    let p = p * t - 1.242_014_1e-1;
    let p = p * t + 1.424_932_3e-1;
    let p = p * t - 1.666_805_8e-1;
    let p = p * t + 2.000_071_5e-1;
    let p = p * t - 2.499_999_4e-1;
    let p = p * t + 0.333_333_3;
    // ln 2 in two parts, of which the larger times the power is exact.
    let power = power as f32;
    (t + (p * t * square - 2.121_944_4e-4 * power - 0.5 * square)) + 0.693_359_4 * power
}

/// Sine and cosine of a part of a full turn, in [0, 1]; error about 1e-7 (polynomials as in [`ln`]).
#[inline(always)]
pub fn turn(part: f32) -> (f32, f32) {
    let (quarter, rest) = nearest(4.0 * part);
    let angle = rest * std::f32::consts::FRAC_PI_2;
    let square = angle * angle;
    let p = -1.951_529_6e-4_f32;
    let p = p * square + 8.332_161e-3;
    let p = p * square - 1.666_665_5e-1;
    let sin = p * square * angle + angle;
    let p = 2.443_315_7e-5_f32;
    let p = p * square - 1.388_731_6e-3;
    let p = p * square + 4.166_664_6e-2;
    let cos = p * square * square - 0.5 * square + 1.0;
    let (of_sin, of_cos) = if quarter & 1 == 0 { (sin, cos) } else { (cos, sin) };
    let sign = |negative: bool| if negative { -1.0 } else { 1.0 };
    (sign(quarter & 2 != 0) * of_sin, sign((quarter + 1) & 2 != 0) * of_cos)
}

/// Floor as an integer, for |x| below 2^21.
#[inline(always)]
pub fn floor(x: f32) -> i32 {
    // Not by `as`, which looks for what no integer holds (measured: a third of the time of what calls this).
    let (whole, rest) = nearest(x);
    whole - i32::from(rest < 0.0)
}

/// The nearest whole number and what is left over, in [-.5, .5], for |x| below 2^21.
#[inline(always)]
pub fn nearest(x: f32) -> (i32, f32) {
    // As in `exp`: the low bits of the sum are the whole number.
    const ROUND: f32 = 12_582_912.0;
    let raised = x + ROUND;
    (raised.to_bits().wrapping_sub(0x4B40_0000) as i32, x - (raised - ROUND))
}

/// A uniform in (0, 1] of the upper 24 bits of a hash.
#[inline(always)]
pub fn unit(hash: u64) -> f32 {
    // By way of i32: the conversion of unsigned numbers has branches.
    ((hash >> 40) as i32 as f32 + 0.5) * (1.0 / 16_777_216.0)
}

/// One of three uniforms in (0, 1), of 21 bits each, of a hash.
#[inline(always)]
pub fn third(hash: u64, part: usize) -> f32 {
    of_third(third_bits(hash, part))
}

/// The bits of one of three uniforms.
#[inline(always)]
pub fn third_bits(hash: u64, part: usize) -> i32 {
    (hash >> (43 - 21 * part)) as i32 & 0x1F_FFFF
}

/// The uniform of its bits.
#[inline(always)]
pub fn of_third(bits: i32) -> f32 {
    (bits as f32 + 0.5) * (1.0 / 2_097_152.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exp_is_close_everywhere() {
        for i in -8000..=8000 {
            let x = i as f32 * 0.01;
            let exact = libm::exp(x as f64);
            // The argument itself is rounded to 24 bits before the split, which costs |x| 6e-8.
            let allowed = 3e-7 + 1.2e-7 * (x as f64).abs();
            assert!((exp(x) as f64 / exact - 1.0).abs() < allowed, "{x}");
        }
    }

    #[test]
    fn ln_is_close_everywhere() {
        for i in 1..200_000u32 {
            for x in [i as f32 / 200_000.0, 1.0 - (i as f32) * 6e-8, (-0.0004 * i as f32).exp()] {
                let exact = libm::log(f64::from(x));
                let error = (f64::from(ln(x)) - exact).abs();
                assert!(error < 1.2e-7 * exact.abs().max(0.5) || error < 2e-7 * exact.abs(), "{x} {} {exact}", ln(x));
            }
        }
    }

    #[test]
    fn a_turn_is_close_everywhere() {
        for i in 0..=100_000 {
            let part = i as f32 / 100_000.0;
            let exact = libm::sincos(std::f64::consts::TAU * f64::from(part));
            let (sin, cos) = turn(part);
            assert!((f64::from(sin) - exact.0).abs() < 2e-7 && (f64::from(cos) - exact.1).abs() < 2e-7, "{part}");
        }
    }

    #[test]
    fn nearest_is_nearest() {
        for x in [-2.4f32, -0.3, 0.0, 0.2, 7.6, 123_456.3] {
            assert_eq!(nearest(x), (x.round() as i32, x - x.round()));
        }
    }

    #[test]
    fn floor_is_floor() {
        for x in [-2.5f32, -2.0, -0.1, 0.0, 0.9, 1.0, 7.99] {
            assert_eq!(floor(x), x.floor() as i32);
        }
    }
}
