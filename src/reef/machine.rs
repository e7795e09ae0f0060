//! Code that is compiled twice and chosen by what the processor has.

/// Compiles a function a second time for processors with wider vectors, and calls that where they are there. Without
/// fused multiplication, which would round otherwise: both give the same bits.
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
            if $crate::reef::machine::has_wide_vectors() {
                // SAFETY: the processor has what the function was compiled for.
                return unsafe { with_wide_vectors($($argument),*) };
            }
            anywhere($($argument),*);
        }
    };
}

pub(crate) use for_this_processor;

/// Whether the processor has AVX2 and what came with it.
#[cfg(target_arch = "x86_64")]
#[inline(always)]
pub(crate) fn has_wide_vectors() -> bool {
    use std::arch::is_x86_feature_detected as detected;
    let has = detected!("avx2") && detected!("bmi1") && detected!("bmi2") && detected!("lzcnt") && detected!("popcnt");
    #[cfg(test)]
    let has = has && !tests::NARROW.get();
    has
}

#[cfg(test)]
pub(crate) mod tests {
    use std::cell::Cell;

    thread_local! {
        /// Set by a test that wants the code for any processor.
        pub(crate) static NARROW: Cell<bool> = const { Cell::new(false) };
    }
}
