//! Code that is compiled three times and chosen by what the processor has.

/// Compiles a function anew for processors with wider vectors, and calls that where they are there. Without
/// fused multiplication, which would round otherwise: all give the same bits.
///
/// Each phase of the hot loop is such a function of its own: as a function it is known that its arguments do not overlap,
/// and loops become vectors that would not in one long body (measured: a fifth fewer instructions).
macro_rules! for_this_processor {
    ($(#[$attribute:meta])* $visibility:vis fn $name:ident($($argument:ident: $kind:ty),* $(,)?) $body:block) => {
        $(#[$attribute])*
        $visibility fn $name($($argument: $kind),*) {
            #[inline(always)]
            fn anywhere($($argument: $kind),*) $body

            #[cfg(target_arch = "x86_64")]
            #[target_feature(enable = "avx2,bmi1,bmi2,lzcnt,popcnt")]
            fn with_wide_vectors($($argument: $kind),*) {
                anywhere($($argument),*);
            }

            #[cfg(target_arch = "x86_64")]
            #[target_feature(enable = "avx2,bmi1,bmi2,lzcnt,popcnt,avx512f,avx512bw,avx512cd,avx512dq,avx512vl")]
            fn with_widest_vectors($($argument: $kind),*) {
                anywhere($($argument),*);
            }

            #[cfg(target_arch = "x86_64")]
            match $crate::reef::machine::vectors() {
                $crate::reef::machine::Vectors::Usual => {}
                // SAFETY: the processor has what the function was compiled for.
                $crate::reef::machine::Vectors::Wide => return unsafe { with_wide_vectors($($argument),*) },
                // SAFETY: as above.
                $crate::reef::machine::Vectors::Widest => return unsafe { with_widest_vectors($($argument),*) },
            }
            anywhere($($argument),*);
        }
    };
}

pub(crate) use for_this_processor;

/// How wide vectors may be: those that every processor of a kind has, AVX2, AVX-512; each with what came with it.
#[cfg(target_arch = "x86_64")]
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Vectors {
    Usual,
    Wide,
    Widest,
}

/// What the processor has.
#[cfg(target_arch = "x86_64")]
#[inline(always)]
pub(crate) fn vectors() -> Vectors {
    static FOUND: std::sync::LazyLock<Vectors> = std::sync::LazyLock::new(detect);
    let found = *FOUND;
    #[cfg(test)]
    let found = found.min(tests::MOST.get());
    found
}

#[cfg(target_arch = "x86_64")]
fn detect() -> Vectors {
    use std::arch::is_x86_feature_detected as has;
    let wide = has!("avx2") && has!("bmi1") && has!("bmi2") && has!("lzcnt") && has!("popcnt");
    let widest = has!("avx512f") && has!("avx512bw") && has!("avx512cd") && has!("avx512dq") && has!("avx512vl");
    match (wide, widest) {
        (false, _) => Vectors::Usual,
        (true, false) => Vectors::Wide,
        (true, true) => Vectors::Widest,
    }
}

#[cfg(all(test, target_arch = "x86_64"))]
pub(crate) mod tests {
    use super::Vectors;
    use std::cell::Cell;

    thread_local! {
        /// Set by a test that wants the code for less than the processor has.
        pub(crate) static MOST: Cell<Vectors> = const { Cell::new(Vectors::Widest) };
    }
}
