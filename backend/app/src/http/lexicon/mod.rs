//! A school's own words: what its mentors say, and what it means.

mod add;
mod explain;
mod list;
mod remove;
mod tables;
mod try_out;
pub mod types;

use utoipa_actix_web::service_config::ServiceConfig;

/// A school may have so many words of its own.
const MOST: usize = 300;

/// Adds the routes.
pub fn configure(api: &mut ServiceConfig) {
    api.service(tables::read_lexicon_tables)
        .service(list::list_lexicon_words)
        .service(add::add_lexicon_word)
        .service(remove::remove_lexicon_word)
        .service(try_out::try_lexicon);
}
