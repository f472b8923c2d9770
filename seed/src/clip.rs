//! One revision's footage: frames to draw, joints to measure.

use serde::Serialize;

use crate::math::{V3, v3};
use crate::motion::actions::{self, Action, CRATE_HALF, LEDGE, LEDGE_EDGE_X, SEAT_X, Variation};
use crate::motion::build::{Build, Character};
use crate::motion::fault::Fault;
use crate::motion::perform::{Direction, Pose, Stepping, perform};
use crate::motion::skeleton::{JOINTS, Joint};
use crate::motion::warp::{Retime, Warp};
use crate::plan::ShotPlan;
use crate::render::camera::{Camera, HEIGHT, WIDTH};
use crate::render::canvas::Canvas;
use crate::render::cast::{Backdrop, backdrop};
use crate::render::digits::burn_in;
use crate::render::figure::{self, Finish, Palette};
use crate::render::light::{Film, Light, Mood};
use crate::render::props::{self, Prop};
use crate::render::set::{Need, Place, Set};
use crate::render::shadow::Mask;

/// What stays the same over the revisions of a shot.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Scene {
    /// What is done.
    pub action: Action,
    /// By whom.
    pub character: Character,
    /// Where.
    pub place: Place,
    /// Its own way of doing it.
    pub variation: Variation,
    /// Frames a second.
    pub fps: u32,
}

/// What a revision makes of its scene.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Take {
    /// How finished it looks.
    pub finish: Look,
    /// Which frames are drawn.
    pub stepping: Stepping,
    /// Frames put in and taken out.
    pub retime: Vec<Retime>,
    /// How it is lit.
    pub mood: Mood,
    /// Camera moved from its place: metres right, metres up, zoom.
    pub nudge: [f32; 3],
    /// What is wrong with it.
    pub faults: Vec<Fault>,
    /// First frame number burnt in, if at all.
    pub burn_in: Option<u32>,
}

/// How finished a revision looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Look {
    /// Grey clay in a grey set.
    Clay,
    /// A coloured figure in a grey set.
    Tinted,
    /// All coloured and lit.
    Lit,
}

/// A shot without revisions has no footage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("shot {0} has no revisions")]
pub struct NoRevision(pub &'static str);

/// The motion of a revision without its pictures: quick to make, and all that measuring needs.
pub struct Play {
    build: Build,
    camera: Camera,
    poses: Vec<Pose>,
}

impl Play {
    /// Plays the scene.
    #[must_use]
    pub fn new(scene: &Scene, take: &Take) -> Self {
        let build = Build::of(scene.character);
        let act = actions::act(scene.action, &build, &scene.variation);
        let warp = Warp::new(act.frames, &take.retime);
        let direction = Direction {
            character: scene.character,
            fps: scene.fps as f32,
            stepping: &take.stepping,
            faults: &take.faults,
        };
        Self {
            build,
            camera: camera(scene, &build, take),
            poses: perform(&act, &warp, &direction),
        }
    }

    /// Number of frames.
    #[must_use]
    pub const fn frames(&self) -> usize {
        self.poses.len()
    }

    /// Standing height of the figure in pixels.
    #[must_use]
    pub fn figure_px(&self) -> f32 {
        self.build.height() * self.camera.scale
    }

    /// One joint of a frame in pixels, y down. A frame past the end gives the last.
    #[must_use]
    pub fn joint(&self, frame: usize, j: Joint) -> [f32; 2] {
        let s = self.camera.spot(self.pose(frame).joint(j));
        [s.x, s.y]
    }

    /// Which feet stand on a frame: right, left.
    #[must_use]
    pub fn planted(&self, frame: usize) -> [bool; 2] {
        self.pose(frame).planted
    }

    fn pose(&self, frame: usize) -> &Pose {
        &self.poses[frame.min(self.poses.len() - 1)]
    }
}

/// The footage of a revision, ready to draw.
pub struct Clip {
    scene: Scene,
    play: Play,
    light: Light,
    film: Film,
    palette: Palette,
    backdrop: Backdrop,
    ledge: Option<(f32, bool)>,
    wall: Option<f32>,
    prop: Option<Prop>,
    clay: bool,
    burn_in: Option<u32>,
}

/// The map from the unretimed performance of a scene to a revision of it.
#[must_use]
pub fn warp_of(scene: &Scene, retime: &[Retime]) -> Warp {
    let act = actions::act(scene.action, &Build::of(scene.character), &scene.variation);
    Warp::new(act.frames, retime)
}

impl Clip {
    /// The footage of one revision of a shot; an index past the end gives the last revision.
    ///
    /// # Errors
    /// The shot has no revisions.
    pub fn new(shot: &ShotPlan, revision_index: usize) -> Result<Self, NoRevision> {
        let last = shot
            .revisions
            .len()
            .checked_sub(1)
            .ok_or(NoRevision(shot.key))?;
        Ok(Self::render(
            &shot.scene,
            &shot.revisions[revision_index.min(last)].take,
        ))
    }

    /// Plays the scene and draws its set. Some tens of milliseconds.
    #[must_use]
    pub fn render(scene: &Scene, take: &Take) -> Self {
        let play = Play::new(scene, take);
        let needs = needs(scene, &play.build);
        let set = Set::build(scene.place, &needs, scene.variation.mirrored);
        let finish = match take.finish {
            Look::Clay => Finish::Clay,
            Look::Tinted => Finish::Tinted,
            Look::Lit => Finish::Full,
        };
        let mut light = Light::of(if finish == Finish::Full {
            take.mood
        } else {
            Mood::Studio
        });
        light.lamp_at = set.lamp;
        let film = Film::default();
        let clay = finish != Finish::Full;
        let backdrop = backdrop(&set, &play.camera, &light, &film, clay);
        Self {
            scene: *scene,
            play,
            light,
            film,
            palette: Palette::of(scene.character, finish),
            backdrop,
            ledge: needs.iter().find_map(|n| match *n {
                Need::Ledge { edge, left, .. } => Some((edge, left)),
                _ => None,
            }),
            wall: set.wall.map(|(_, z)| z),
            prop: match scene.action {
                Action::Lift => Some(Prop::Crate(CRATE_HALF)),
                Action::Throw => Some(Prop::Ball(0.085)),
                _ => None,
            },
            clay,
            burn_in: take.burn_in,
        }
    }

    /// Pixels across.
    #[must_use]
    pub const fn width(&self) -> usize {
        WIDTH
    }

    /// Pixels down.
    #[must_use]
    pub const fn height(&self) -> usize {
        HEIGHT
    }

    /// Frames a second.
    #[must_use]
    pub const fn fps(&self) -> u32 {
        self.scene.fps
    }

    /// Number of frames.
    #[must_use]
    pub const fn frames(&self) -> usize {
        self.play.frames()
    }

    /// The motion alone.
    #[must_use]
    pub const fn play(&self) -> &Play {
        &self.play
    }

    /// Every joint of a frame by name, in pixels, y down. A frame past the end gives the last.
    #[must_use]
    pub fn joints(&self, frame: usize) -> Vec<(&'static str, [f32; 2])> {
        JOINTS
            .iter()
            .map(|&j| (j.name(), self.play.joint(frame, j)))
            .collect()
    }

    /// Draws a frame as rgb24, row by row; `out` holds width x height x 3 bytes. Nothing is drawn into a buffer of another size.
    pub fn draw(&self, frame: usize, out: &mut [u8]) {
        if out.len() != WIDTH * HEIGHT * 3 {
            return;
        }
        let pose = self.play.pose(frame);
        out.copy_from_slice(&self.backdrop.rgb);
        self.shadows(pose).lay(out, &self.backdrop.takes);
        let mut depth = self.backdrop.depth.clone();
        let mut canvas = Canvas {
            rgb: out,
            depth: &mut depth,
            film: &self.film,
            light: &self.light,
        };
        if let Some(p) = self.prop {
            props::draw(
                &mut canvas,
                &self.play.camera,
                p,
                pose.prop,
                pose.prop_turn,
                self.clay,
            );
        }
        figure::draw(
            &mut canvas,
            &self.play.camera,
            pose,
            &self.play.build,
            self.scene.character,
            &self.palette,
        );
        if let Some(first) = self.burn_in {
            burn_in(out, frame + first as usize, 14, HEIGHT - 30);
        }
    }

    fn ground(&self, x: f32) -> f32 {
        match self.ledge {
            Some((edge, left)) if (x < edge) == left => LEDGE,
            _ => 0.0,
        }
    }

    fn shadows(&self, pose: &Pose) -> Mask {
        let mut mask = Mask::new();
        let hip = pose.joint(Joint::Hip);
        let y = self.ground(hip.x);
        let to = self.light.towards;
        let px = self.play.camera.scale;
        for (a, b, r) in figure::shadow_limbs(pose, &self.play.build) {
            let down = |p: V3| {
                let q = p - to * ((p.y - y).max(0.0) / to.y);
                v3(q.x, y, q.z.max(self.wall.unwrap_or(-8.0)))
            };
            let (da, db) = (
                self.play.camera.spot(down(a)),
                self.play.camera.spot(down(b)),
            );
            let height = ((a.y + b.y) * 0.5 - y).max(0.0);
            let soft = 5.0 + 16.0 * height;
            mask.limb(
                da,
                db,
                r * px * 0.62,
                r * px * 0.62,
                soft,
                self.light.shadow * (1.0 - 0.22 * height).max(0.3),
            );
        }
        for j in [Joint::AnkleRight, Joint::AnkleLeft] {
            let p = pose.joint(j);
            let g = self.ground(p.x);
            let up = (p.y - self.play.build.ankle - g).max(0.0);
            let dark = 0.62 * (1.0 - up / 0.45).max(0.0);
            let s = self.play.camera.spot(v3(
                p.x + (pose
                    .joint(if j == Joint::AnkleRight {
                        Joint::ToeRight
                    } else {
                        Joint::ToeLeft
                    })
                    .x
                    - p.x)
                    * 0.45,
                g,
                p.z,
            ));
            mask.pool(
                s,
                (0.15 + up * 0.3) * s.scale,
                (0.035 + up * 0.1) * s.scale,
                dark,
            );
        }
        if let Some(p) = self.prop {
            let r = match p {
                Prop::Crate(h) => h * 1.2,
                Prop::Ball(r) => r,
            };
            let up = (pose.prop.y - r).max(0.0);
            let s = self.play.camera.spot(v3(pose.prop.x, 0.0, pose.prop.z));
            mask.pool(
                s,
                r * 1.25 * s.scale,
                r * 0.36 * s.scale,
                0.55 * (1.0 - up / 1.2).max(0.0),
            );
        }
        let s = self.play.camera.spot(v3(hip.x, y, hip.z));
        mask.pool(
            s,
            0.36 * s.scale,
            0.085 * s.scale,
            0.26 * (1.0 - (hip.y - y - 0.9).max(0.0)).max(0.0),
        );
        mask
    }
}

fn needs(scene: &Scene, b: &Build) -> Vec<Need> {
    let flip = if scene.variation.mirrored { -1.0 } else { 1.0 };
    match scene.action {
        Action::Jump => {
            let l = actions::lantern(b);
            vec![
                Need::Ledge {
                    edge: LEDGE_EDGE_X * flip,
                    height: LEDGE,
                    left: flip > 0.0,
                },
                Need::Lantern(v3(l.x * flip, l.y, l.z)),
            ]
        }
        Action::Sit => vec![Need::Seat(v3(SEAT_X * flip, actions::seat(b), 0.0))],
        _ => Vec::new(),
    }
}

fn camera(scene: &Scene, b: &Build, take: &Take) -> Camera {
    let scale = match scene.action {
        Action::Jump => 296.0 / (LEDGE + b.height() + 0.32),
        _ => (212.0 / b.height()).clamp(112.0, 142.0),
    };
    let [dx, dy, zoom] = take.nudge;
    Camera {
        x: dx,
        y: 1.05 + dy,
        scale: scale * zoom,
        horizon: 314.0 - 1.05 * scale,
    }
}
