//! The fields of the index and how a document fills them.

use chrono::{DateTime, Utc};
use domain::Side;
use domain::parts::ancestors;
use tantivy::schema::{
    BytesOptions, Field, IndexRecordOption, NumericOptions, STORED, STRING, Schema, SchemaBuilder,
    TextFieldIndexing, TextOptions,
};
use tantivy::tokenizer::{Token, TokenStream, Tokenizer, TokenizerManager};
use tantivy::{Index, TantivyDocument, Term};
use uuid::Uuid;

use crate::document::{Document, DocumentKey, Sort};
use crate::words::{Word, stem, words};

/// Version of the fields, the words and the stems. An index of another version is rebuilt.
pub(crate) const VERSION: u32 = 1;

pub(crate) const AT: &str = "at";
pub(crate) const LENGTH: &str = "length";
pub(crate) const ID_HIGH: &str = "id_high";
pub(crate) const ID_LOW: &str = "id_low";
pub(crate) const SORT: &str = "sort";

const EXACT_WORDS: &str = "exact";
const STEMMED_WORDS: &str = "stemmed";

/// Handles of the fields.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Fields {
    pub key: Field,
    sort: Field,
    id_high: Field,
    id_low: Field,
    pub school: Field,
    pub enrolment: Field,
    pub student: Field,
    pub critic: Field,
    pub shot: Field,
    pub kind: Field,
    pub principle: Field,
    pub part: Field,
    pub at: Field,
    pub visible_from: Field,
    length: Field,
    pub exact: Field,
    pub stemmed: Field,
    pub source: Field,
}

pub(crate) fn schema() -> (Schema, Fields) {
    let mut builder = SchemaBuilder::new();
    let by_id = || BytesOptions::default().set_indexed();
    let column = || NumericOptions::default().set_fast();
    let fields = Fields {
        key: builder.add_bytes_field("key", by_id()),
        sort: builder.add_u64_field(SORT, column()),
        id_high: builder.add_u64_field(ID_HIGH, column()),
        id_low: builder.add_u64_field(ID_LOW, column()),
        school: builder.add_bytes_field("school", by_id()),
        enrolment: builder.add_bytes_field("enrolment", by_id()),
        student: builder.add_bytes_field("student", by_id()),
        critic: builder.add_bytes_field("critic", by_id()),
        shot: builder.add_bytes_field("shot", by_id()),
        kind: builder.add_text_field("kind", STRING),
        principle: builder.add_text_field("principle", STRING),
        part: builder.add_text_field("part", STRING),
        at: builder.add_i64_field(AT, column()),
        visible_from: builder.add_i64_field("visible_from", column()),
        length: builder.add_u64_field(LENGTH, column()),
        exact: builder.add_text_field(
            "exact_words",
            text(EXACT_WORDS, IndexRecordOption::WithFreqsAndPositions),
        ),
        stemmed: builder.add_text_field(
            "stemmed_words",
            text(STEMMED_WORDS, IndexRecordOption::WithFreqs),
        ),
        source: builder.add_bytes_field("source", STORED),
    };
    (builder.build(), fields)
}

fn text(tokenizer: &str, option: IndexRecordOption) -> TextOptions {
    TextOptions::default().set_indexing_options(
        TextFieldIndexing::default()
            .set_tokenizer(tokenizer)
            .set_index_option(option)
            .set_fieldnorms(true),
    )
}

/// Gives the index its two ways to cut words.
pub(crate) fn set_tokenizers(index: &mut Index) {
    let manager = TokenizerManager::default();
    manager.register(EXACT_WORDS, WordTokenizer { stemmed: false });
    manager.register(STEMMED_WORDS, WordTokenizer { stemmed: true });
    index.set_tokenizers(manager);
}

impl Fields {
    pub(crate) fn id_term(&self, field: Field, id: Uuid) -> Term {
        Term::from_field_bytes(field, id.as_bytes())
    }

    /// Finds the one document of this key.
    pub(crate) fn key_term(&self, key: DocumentKey) -> Term {
        Term::from_field_bytes(self.key, &key_bytes(key))
    }

    pub(crate) fn document(
        &self,
        document: &Document,
    ) -> Result<TantivyDocument, serde_json::Error> {
        let mut row = TantivyDocument::new();
        let (high, low) = document.key.id.as_u64_pair();
        row.add_bytes(self.key, &key_bytes(document.key));
        row.add_u64(self.sort, u64::from(sort_number(document.key.sort)));
        row.add_u64(self.id_high, high);
        row.add_u64(self.id_low, low);
        row.add_bytes(self.school, document.school.0.as_bytes());
        row.add_bytes(self.enrolment, document.enrolment.0.as_bytes());
        row.add_bytes(self.student, document.student.id.0.as_bytes());
        row.add_bytes(self.critic, document.critic.0.as_bytes());
        row.add_bytes(self.shot, document.shot.id.0.as_bytes());
        if let Some(kind) = document.kind {
            row.add_text(self.kind, kind.as_str());
        }
        for principle in &document.principles {
            row.add_text(self.principle, principle.as_str());
        }
        for term in part_terms(document) {
            row.add_text(self.part, term);
        }
        row.add_i64(self.at, micros(document.at));
        if let Some(from) = document.visible_from {
            row.add_i64(self.visible_from, micros(from));
        }
        row.add_u64(self.length, words(&document.words).count() as u64);
        row.add_text(self.exact, &document.words);
        row.add_text(self.stemmed, &document.words);
        row.add_bytes(self.source, &serde_json::to_vec(document)?);
        Ok(row)
    }
}

/// A sort as the index counts it; part of the order of hits.
pub(crate) fn sort_number(sort: Sort) -> u8 {
    match sort {
        Sort::Note => 0,
        Sort::Answer => 1,
        Sort::Amendment => 2,
    }
}

fn key_bytes(key: DocumentKey) -> [u8; 17] {
    let mut bytes = [sort_number(key.sort); 17];
    bytes[1..].copy_from_slice(key.id.as_bytes());
    bytes
}

/// A time as the index counts it.
pub(crate) fn micros(time: DateTime<Utc>) -> i64 {
    time.timestamp_micros()
}

/// What a part filter looks for.
pub(crate) fn part_term(part: &str, side: Option<Side>) -> String {
    match side {
        None => part.to_owned(),
        Some(side) => format!("{part}/{side}"),
    }
}

fn part_terms(document: &Document) -> Vec<String> {
    let mut terms = Vec::new();
    for part in &document.parts {
        for node in ancestors(&part.part) {
            terms.push(part_term(node, None));
            match part.side {
                None => {}
                Some(Side::Both) => {
                    terms.extend(
                        [Side::Left, Side::Right, Side::Both]
                            .map(|side| part_term(node, Some(side))),
                    );
                }
                side => terms.push(part_term(node, side)),
            }
        }
    }
    terms.sort_unstable();
    terms.dedup();
    terms
}

/// Hands the words of a text to the index.
#[derive(Clone)]
struct WordTokenizer {
    stemmed: bool,
}

struct WordStream {
    words: std::vec::IntoIter<Word>,
    stemmed: bool,
    token: Token,
}

impl Tokenizer for WordTokenizer {
    type TokenStream<'a> = WordStream;

    fn token_stream<'a>(&'a mut self, text: &'a str) -> WordStream {
        WordStream {
            words: words(text).collect::<Vec<_>>().into_iter(),
            stemmed: self.stemmed,
            token: Token::default(),
        }
    }
}

impl TokenStream for WordStream {
    fn advance(&mut self) -> bool {
        let Some(word) = self.words.next() else {
            return false;
        };
        self.token.position = self.token.position.wrapping_add(1);
        self.token.offset_from = word.start;
        self.token.offset_to = word.end;
        self.token.text = if self.stemmed {
            stem(&word.exact)
        } else {
            word.exact
        };
        true
    }

    fn token(&self) -> &Token {
        &self.token
    }

    fn token_mut(&mut self) -> &mut Token {
        &mut self.token
    }
}
