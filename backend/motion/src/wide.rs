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
