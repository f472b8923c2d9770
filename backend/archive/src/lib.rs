//! The archive: full text over notes, answers and amendments. The only code that knows tantivy.
//!
//! The index is derived: it can be deleted and rebuilt from the database at any time. It follows a feed
//! of changes and stores, in the same commit as the changes, the position it has reached.
//!
//! | question | module |
//! | --- | --- |
//! | what is stored | [`Document`], [`Change`] |
//! | how text becomes words | [`words`] |
//! | what a search text means | [`query`] |
//! | who may find what | [`Asker`] |
//! | how hits are ordered, and why the order leaks nothing | `rank`, `cursor` |
//! | what lies on disk, and what a crash leaves | `folder` |

mod archive;
mod ask;
mod compile;
mod cursor;
mod document;
mod folder;
mod fragments;
mod linger;
mod live;
pub mod query;
mod rank;
pub mod scan;
mod schema;
pub mod words;

#[cfg(test)]
mod tests;

pub use archive::{Archive, Rebuild};
pub use ask::{Asker, Filters, Hit, PAGE_LIMIT, Page, Search, SearchError};
pub use document::{Change, Document, DocumentKey, Named, Sort, Span};
pub use folder::{FolderError, index_in_use, is_rebuild_wanted, want_rebuild};
pub use fragments::{FRAGMENT_GRAPHEMES, Piece};
pub use live::{Unusable, WriteError};
