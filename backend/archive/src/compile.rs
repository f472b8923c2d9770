//! Turns who asks and what is asked into one query of the index.

use std::ops::Bound;

use chrono::{DateTime, Utc};
use tantivy::Term;
use tantivy::query::{
    BooleanQuery, ConstScoreQuery, PhraseQuery, Query, RangeQuery, TermQuery, TermSetQuery,
};
use tantivy::schema::{Field, IndexRecordOption};

use crate::ask::{Asker, Filters};
use crate::query::Clause;
use crate::schema::{Fields, micros, part_term};

type AnyQuery = Box<dyn Query>;

/// All that the asker may see. The rule is the one of [`Asker::may_see`].
pub(crate) fn permission(fields: &Fields, asker: &Asker, now: DateTime<Utc>) -> AnyQuery {
    let visible = range(
        fields.visible_from,
        Bound::Unbounded,
        Bound::Included(micros(now)),
    );
    let own = term(fields.id_term(fields.critic, asker.person.0));
    let own_or = |ways: Vec<AnyQuery>| {
        if asker.as_office {
            own.box_clone()
        } else {
            all(vec![own.box_clone(), any(ways)])
        }
    };
    let seen = match near(fields, asker) {
        Some(near) => any(vec![
            all(vec![near.box_clone(), visible.box_clone()]),
            own_or(vec![near, visible]),
        ]),
        None => own_or(vec![visible]),
    };
    all(vec![
        term(fields.id_term(fields.school, asker.school.0)),
        seen,
    ])
}

/// What is about the asker's own shots and the enrolments they mentor.
fn near(fields: &Fields, asker: &Asker) -> Option<AnyQuery> {
    let mut ways: Vec<AnyQuery> = Vec::new();
    if let Some(enrolments) = &asker.as_mentor {
        let mentored = enrolments
            .iter()
            .map(|id| fields.id_term(fields.enrolment, id.0));
        ways.push(Box::new(TermSetQuery::new(mentored)));
    }
    if asker.as_student {
        ways.push(term(fields.id_term(fields.student, asker.person.0)));
    }
    (!ways.is_empty()).then(|| any(ways))
}

/// The documents that match; only the words give a score.
pub(crate) fn query(
    permission: AnyQuery,
    fields: &Fields,
    clauses: &[Clause],
    filters: &Filters,
) -> AnyQuery {
    let mut conditions = filter_queries(fields, filters);
    conditions.push(permission);
    let mut parts: Vec<AnyQuery> = conditions.into_iter().map(unscored).collect();
    parts.extend(clauses.iter().map(|clause| clause_query(fields, clause)));
    all(parts)
}

/// The words whose numbers make up the scores of these clauses, each once.
pub(crate) fn scored_terms(fields: &Fields, clauses: &[Clause]) -> Vec<Term> {
    let exact = |word: &String| Term::from_field_text(fields.exact, word);
    let mut terms = Vec::new();
    for clause in clauses {
        match clause {
            Clause::Word { exact: word, stem } | Clause::Typing { exact: word, stem } => {
                terms.push(exact(word));
                terms.push(Term::from_field_text(fields.stemmed, stem));
            }
            Clause::Phrase(words) => terms.extend(words.iter().map(exact)),
            Clause::Prefix(_) => {}
        }
    }
    terms.sort_unstable();
    terms.dedup();
    terms
}

fn clause_query(fields: &Fields, clause: &Clause) -> AnyQuery {
    let exact_term = |word: &String| Term::from_field_text(fields.exact, word);
    match clause {
        Clause::Word { exact, stem } => any_form(fields, exact, stem, None),
        Clause::Typing { exact, stem } => {
            any_form(fields, exact, stem, Some(beginning(fields.exact, exact)))
        }
        Clause::Prefix(start) => unscored(beginning(fields.exact, start)),
        Clause::Phrase(words) if words.len() == 1 => scored(exact_term(&words[0])),
        Clause::Phrase(words) => Box::new(PhraseQuery::new(words.iter().map(exact_term).collect())),
    }
}

fn any_form(fields: &Fields, exact: &str, stem: &str, beginning: Option<AnyQuery>) -> AnyQuery {
    let mut forms = vec![
        scored(Term::from_field_text(fields.stemmed, stem)),
        scored(Term::from_field_text(fields.exact, exact)),
    ];
    forms.extend(beginning.map(unscored));
    any(forms)
}

fn filter_queries(fields: &Fields, filters: &Filters) -> Vec<AnyQuery> {
    let mut queries: Vec<AnyQuery> = Vec::new();
    let word = |field: Field, value: &str| term(Term::from_field_text(field, value));
    queries.extend(
        filters
            .principle
            .iter()
            .map(|name| word(fields.principle, name.as_str())),
    );
    queries.extend(
        filters
            .kind
            .iter()
            .map(|name| word(fields.kind, name.as_str())),
    );
    queries.extend(
        filters
            .part
            .iter()
            .map(|name| word(fields.part, &part_term(name, filters.side))),
    );
    queries.extend(
        filters
            .student
            .iter()
            .map(|id| term(fields.id_term(fields.student, id.0))),
    );
    queries.extend(
        filters
            .shot
            .iter()
            .map(|id| term(fields.id_term(fields.shot, id.0))),
    );
    if filters.from.is_some() || filters.to.is_some() {
        let from = filters
            .from
            .map_or(Bound::Unbounded, |time| Bound::Included(micros(time)));
        let to = filters
            .to
            .map_or(Bound::Unbounded, |time| Bound::Excluded(micros(time)));
        queries.push(range(fields.at, from, to));
    }
    queries
}

fn all(queries: Vec<AnyQuery>) -> AnyQuery {
    Box::new(BooleanQuery::intersection(queries))
}

fn any(queries: Vec<AnyQuery>) -> AnyQuery {
    Box::new(BooleanQuery::union(queries))
}

fn term(term: Term) -> AnyQuery {
    Box::new(TermQuery::new(term, IndexRecordOption::Basic))
}

fn scored(term: Term) -> AnyQuery {
    Box::new(TermQuery::new(term, IndexRecordOption::WithFreqs))
}

fn unscored(query: AnyQuery) -> AnyQuery {
    Box::new(ConstScoreQuery::new(query, 0.0))
}

fn range(field: Field, from: Bound<i64>, to: Bound<i64>) -> AnyQuery {
    let bound = |value: i64| Term::from_field_i64(field, value);
    Box::new(RangeQuery::new(from.map(bound), to.map(bound)))
}

/// Words that begin so: all words from it up to it followed by the last character there is.
fn beginning(field: Field, start: &str) -> AnyQuery {
    Box::new(RangeQuery::new(
        Bound::Included(Term::from_field_text(field, start)),
        Bound::Included(Term::from_field_text(
            field,
            &format!("{start}{}", char::MAX),
        )),
    ))
}
