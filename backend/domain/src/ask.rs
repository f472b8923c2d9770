//! Measurable requests.

/// What is to be changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[serde(rename_all = "kebab-case")]
pub enum AskKind {
    /// So many frames more.
    AddFrames,
    /// So many frames fewer.
    RemoveFrames,
    /// Parts apart by so many frames.
    Offset,
    /// Held for so many frames.
    Hold,
    /// So many times its size: 0.5 halves.
    Scale,
}

/// A measurable request on a note: an amount in frames, or in times for `scale`.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[serde(deny_unknown_fields)]
pub struct Ask {
    /// What.
    pub what: AskKind,
    /// How much.
    pub amount: f64,
}

impl Ask {
    /// Whether the amount makes sense: whole frames 1..=3600 (an offset may be negative), or 0..100 times.
    pub fn is_sane(self) -> bool {
        let whole = self.amount.fract() == 0.0;
        match self.what {
            AskKind::AddFrames | AskKind::RemoveFrames | AskKind::Hold => {
                whole && (1.0..=3600.0).contains(&self.amount)
            }
            AskKind::Offset => whole && self.amount != 0.0 && self.amount.abs() <= 3600.0,
            AskKind::Scale => self.amount > 0.0 && self.amount <= 100.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_a_frame_is_no_ask() {
        assert!(
            Ask {
                what: AskKind::AddFrames,
                amount: 2.0
            }
            .is_sane()
        );
        assert!(
            !Ask {
                what: AskKind::AddFrames,
                amount: 0.5
            }
            .is_sane()
        );
        assert!(
            Ask {
                what: AskKind::Scale,
                amount: 0.5
            }
            .is_sane()
        );
        assert!(
            !Ask {
                what: AskKind::Scale,
                amount: f64::NAN
            }
            .is_sane()
        );
    }
}
