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

/// Floor as an integer, for |x| below 2^31.
#[inline(always)]
pub fn floor(x: f32) -> i32 {
    let truncated = x as i32;
    truncated - ((truncated as f32) > x) as i32
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
    let bits = (hash >> (43 - 21 * part)) as i32 & 0x1F_FFFF;
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
