//! Loops compiled twice: for every processor, and for those with wide vectors. Which of both runs is decided at run time.

use std::sync::LazyLock;

use pulp::Arch;

pub(crate) static HERE: LazyLock<Arch> = LazyLock::new(Arch::new);

/// `wide! { fn name(a: A, ...) -> R = body }` is a function that calls `body` compiled for the widest vectors of this
/// processor. Only what is inlined into it is, so `body` and what it calls need `#[inline(always)]`. Nothing is fused or
/// reordered: results are the same to the bit on every processor.
macro_rules! wide {
    ($(#[$note:meta])* $view:vis fn $name:ident($($arg:ident: $kind:ty),* $(,)?) $(-> $result:ty)? = $body:expr) => {
        $(#[$note])*
        $view fn $name($($arg: $kind),*) $(-> $result)? {
            struct Work<T>(T);
            impl pulp::NullaryFnOnce for Work<($($kind,)*)> {
                type Output = $crate::wide::wide!(@result $($result)?);

                #[inline(always)]
                fn call(self) -> Self::Output {
                    let ($($arg,)*) = self.0;
                    $body($($arg),*)
                }
            }
            $crate::wide::HERE.dispatch(Work(($($arg,)*)))
        }
    };
    (@result $result:ty) => { $result };
    (@result) => { () };
}

pub(crate) use wide;

/// The whole number nearest to `v`, which is at least 0 and below 2^22. One addition, where a cast would look for what is
/// out of range; so that loops over it are vectorised well.
#[inline(always)]
pub(crate) fn nearest(v: f32) -> u32 {
    // From 2^23 on neighbouring numbers are 1 apart: adding it rounds.
    (v + 8_388_608.0).to_bits() & 0x007f_ffff
}

/// The whole number below `v` and what is left, 0 to 1; of a whole number it may be the one before and 1. See [`nearest`].
#[inline(always)]
pub(crate) fn split(v: f32) -> (usize, f32) {
    let whole = nearest(v - 0.5);
    (whole as usize, v - whole as i32 as f32)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_rounded_and_split() {
        for k in 0..4_000 {
            let v = k as f32 * 0.37;
            assert!((nearest(v) as f32 - v).abs() <= 0.5, "{v}");
            let (whole, rest) = split(v.max(0.5));
            assert!((0.0..=1.0).contains(&rest), "{v}: {rest}");
            assert!((whole as f32 + rest - v.max(0.5)).abs() < 1e-3, "{v}");
        }
        assert_eq!(
            [0.0, 0.4, 1.6, 4_000_000.0].map(nearest),
            [0, 0, 2, 4_000_000]
        );
    }
}
