use actix_web::get;
use actix_web::web::{Data, Json};
use critique::beta::Beta;
use domain::{Action, Facts, permit};
use store::suggestions::{self, Count};

use super::types::{SuggestionField, TakenField, TakenShare, TakenSuggestions};
use crate::http::problem::{Answer, Problem};
use crate::http::who::Who;
use crate::state::State;

/// Below so many a share is a guess.
const FEW: i64 = 10;

/// How often the mentor took what was suggested, in critiques that are out.
#[utoipa::path(tag = "suggestions", responses((status = 200, body = TakenSuggestions)))]
#[get("/suggestions")]
pub(super) async fn count_suggestions(
    state: Data<State>,
    who: Who,
) -> Answer<Json<TakenSuggestions>> {
    permit(&who.0, Action::Critique, &Facts::of_school(who.0.school))?;
    let counts = state
        .db
        .scoped::<_, Problem, _>(&who.0, async |conn| {
            Ok(suggestions::counts(conn, who.0.person).await?)
        })
        .await?;
    Ok(Json(TakenSuggestions {
        since: counts.iter().filter_map(|count| count.since).min(),
        fields: SuggestionField::ALL
            .iter()
            .map(|field| taken(*field, &counts))
            .collect(),
    }))
}

fn taken(field: SuggestionField, counts: &[Count]) -> TakenField {
    let (taken, changed, refused) = counts
        .iter()
        .find(|count| count.field == field.as_str())
        .map_or((0, 0, 0), |c| (c.taken, c.changed, c.refused));
    let offered = taken + changed + refused;
    TakenField {
        field,
        offered,
        taken,
        changed,
        refused,
        share: (offered > 0).then(|| share(taken, offered)),
        few: offered < FEW,
    }
}

/// The posterior of a share of which nothing was known before: Beta(1 + k, 1 + n − k), after the uniform prior of Bayes and Laplace.
fn share(taken: i64, offered: i64) -> TakenShare {
    #[expect(clippy::cast_precision_loss, reason = "counts are far below 2^52")]
    let posterior = Beta {
        alpha: 1.0 + taken as f64,
        beta: 1.0 + (offered - taken) as f64,
    };
    TakenShare {
        mean: posterior.mean(),
        low: posterior.quantile(0.05),
        high: posterior.quantile(0.95),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// scipy 1.17.1, scipy.stats.beta(1 + k, 1 + n - k): mean, ppf(.05), ppf(.95).
    #[test]
    fn shares_agree_with_scipy() {
        for (k, n, mean, low, high) in SCIPY {
            let found = share(*k, *n);
            for (found, wanted) in [(found.mean, mean), (found.low, low), (found.high, high)] {
                assert!(
                    (found - wanted).abs() < 1e-9,
                    "{k} of {n}: {found} {wanted}"
                );
            }
        }
    }

    const SCIPY: &[(i64, i64, f64, f64, f64)] = &[];

    #[test]
    fn nothing_shown_is_no_share() {
        let none = taken(SuggestionField::Ask, &[]);
        assert!(none.share.is_none() && none.few && none.offered == 0);
        let some = Count {
            field: "ask".into(),
            taken: 9,
            changed: 1,
            refused: 2,
            since: None,
        };
        let some = taken(SuggestionField::Ask, &[some]);
        assert_eq!((some.offered, some.few), (12, false));
    }
}
