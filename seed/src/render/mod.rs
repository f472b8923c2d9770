//! A small software renderer: a ray-cast set drawn once, and a figure of lit, tapered limbs drawn over it every frame.

pub mod camera;
pub mod canvas;
pub(crate) mod cast;
pub(crate) mod digits;
pub mod figure;
mod head;
pub mod light;
mod places;
pub mod props;
pub mod set;
pub(crate) mod shadow;
mod solids;
mod texture;
