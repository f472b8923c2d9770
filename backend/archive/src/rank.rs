//! The order of hits: BM25 over the words, ties by time, newest first.
//!
//! BM25 as in Robertson & Zaragoza, "The Probabilistic Relevance Framework: BM25 and Beyond" (2009),
//! equation 3.15, with k1 = 1.2 and b = 0.75 and the inverse document frequency
//! `ln(1 + (N - n + 0.5) / (n + 0.5))`, which stays positive for a word in most documents. A word counts
//! twice: once by its stem and once by its very form.
//!
//! N, n and the average length are taken over what the asker may see, not over the whole index: the
//! order is the one an archive of their own would give, and tells nothing of other people's notes.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use tantivy::collector::{Collector, SegmentCollector};
use tantivy::columnar::Column;
use tantivy::query::{Bm25StatisticsProvider, Query};
use tantivy::schema::{Field, IndexRecordOption};
use tantivy::{
    COLLECT_BLOCK_BUFFER_LEN, DocAddress, DocId, DocSet, Score, Searcher, SegmentOrdinal,
    SegmentReader, Term,
};

use crate::schema::{AT, ID_HIGH, ID_LOW, LENGTH, SORT};

/// Scores are compared in steps of 1/256: sums of the same numbers in another order stay equal.
const SCORE_STEPS: f32 = 256.0;

/// Place of a document in the order; the greater comes first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Key {
    pub score: u32,
    pub at: i64,
    pub id: Reverse<(u128, u64)>,
}

impl Key {
    pub(crate) fn new(score: u32, at: i64, id: u128, sort: u64) -> Self {
        Self {
            score,
            at,
            id: Reverse((id, sort)),
        }
    }
}

/// The numbers BM25 needs, over what the asker may see.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Statistics {
    /// Documents.
    pub documents: u64,
    /// Words in all of them.
    pub words: u64,
    /// For each word of the search, the documents that hold it.
    pub holding: Vec<(Term, u64)>,
}

impl Statistics {
    /// Counts over the documents of `permitted`. `terms` are sorted.
    pub(crate) fn count(
        searcher: &Searcher,
        permitted: &dyn Query,
        terms: Vec<Term>,
    ) -> tantivy::Result<Self> {
        let mut statistics = Self {
            documents: 0,
            words: 0,
            holding: terms.into_iter().map(|term| (term, 0)).collect(),
        };
        if !statistics.holding.is_empty() {
            for set in searcher.search(permitted, &Permitted)? {
                statistics.add(searcher.segment_reader(set.segment), &set)?;
            }
        }
        Ok(statistics)
    }

    fn add(&mut self, reader: &SegmentReader, set: &PermittedSet) -> tantivy::Result<()> {
        self.documents += set.documents;
        self.words += set.words;
        for (term, count) in &mut self.holding {
            let index = reader.inverted_index(term.field())?;
            if let Some(mut postings) = index.read_postings(term, IndexRecordOption::Basic)? {
                let mut block = [0; COLLECT_BLOCK_BUFFER_LEN];
                loop {
                    let filled = postings.fill_buffer(&mut block);
                    *count += block[..filled]
                        .iter()
                        .filter(|doc| set.holds(**doc))
                        .count() as u64;
                    if filled < block.len() {
                        break;
                    }
                }
            }
        }
        Ok(())
    }
}

impl Bm25StatisticsProvider for Statistics {
    fn total_num_tokens(&self, _field: Field) -> tantivy::Result<u64> {
        Ok(self.words.max(1))
    }

    fn total_num_docs(&self) -> tantivy::Result<u64> {
        Ok(self.documents.max(1))
    }

    fn doc_freq(&self, term: &Term) -> tantivy::Result<u64> {
        let found = self.holding.binary_search_by(|(held, _)| held.cmp(term));
        Ok(found.map_or(0, |index| self.holding[index].1))
    }
}

/// Collects, for each segment, the set of documents found.
struct Permitted;

struct PermittedSet {
    segment: SegmentOrdinal,
    bits: Vec<u64>,
    documents: u64,
    words: u64,
}

struct PermittedSegment {
    set: PermittedSet,
    length: Column<u64>,
}

impl PermittedSet {
    fn holds(&self, doc: DocId) -> bool {
        let index = doc as usize;
        self.bits
            .get(index / 64)
            .is_some_and(|word| word >> (index % 64) & 1 == 1)
    }
}

impl Collector for Permitted {
    type Fruit = Vec<PermittedSet>;
    type Child = PermittedSegment;

    fn for_segment(
        &self,
        segment: SegmentOrdinal,
        reader: &SegmentReader,
    ) -> tantivy::Result<PermittedSegment> {
        Ok(PermittedSegment {
            set: PermittedSet {
                segment,
                bits: vec![0; (reader.max_doc() as usize).div_ceil(64)],
                documents: 0,
                words: 0,
            },
            length: reader.fast_fields().u64(LENGTH)?,
        })
    }

    fn requires_scoring(&self) -> bool {
        false
    }

    fn merge_fruits(&self, sets: Vec<PermittedSet>) -> tantivy::Result<Vec<PermittedSet>> {
        Ok(sets)
    }
}

impl SegmentCollector for PermittedSegment {
    type Fruit = PermittedSet;

    fn collect(&mut self, doc: DocId, _score: Score) {
        self.set.bits[doc as usize / 64] |= 1 << (doc % 64);
        self.set.documents += 1;
        self.set.words += self.length.first(doc).unwrap_or(0);
    }

    fn harvest(self) -> PermittedSet {
        self.set
    }
}

/// Collects the best `limit` documents after a key, and counts all.
pub(crate) struct Best {
    pub limit: usize,
    pub after: Option<Key>,
}

/// What [`Best`] found.
#[derive(Default)]
pub(crate) struct Found {
    /// Best first.
    pub best: Vec<(Key, DocAddress)>,
    /// All that match, also before the key.
    pub total: usize,
}

pub(crate) struct BestSegment {
    segment: SegmentOrdinal,
    limit: usize,
    after: Option<Key>,
    at: Column<i64>,
    id_high: Column<u64>,
    id_low: Column<u64>,
    sort: Column<u64>,
    heap: BinaryHeap<Reverse<(Key, DocAddress)>>,
    total: usize,
}

impl Collector for Best {
    type Fruit = Found;
    type Child = BestSegment;

    fn for_segment(
        &self,
        segment: SegmentOrdinal,
        reader: &SegmentReader,
    ) -> tantivy::Result<BestSegment> {
        let columns = reader.fast_fields();
        Ok(BestSegment {
            segment,
            limit: self.limit,
            after: self.after,
            at: columns.i64(AT)?,
            id_high: columns.u64(ID_HIGH)?,
            id_low: columns.u64(ID_LOW)?,
            sort: columns.u64(SORT)?,
            heap: BinaryHeap::with_capacity(self.limit + 1),
            total: 0,
        })
    }

    fn requires_scoring(&self) -> bool {
        true
    }

    fn merge_fruits(&self, segments: Vec<Found>) -> tantivy::Result<Found> {
        let mut found = Found::default();
        for segment in segments {
            found.total += segment.total;
            found.best.extend(segment.best);
        }
        found.best.sort_unstable_by(|a, b| b.cmp(a));
        found.best.truncate(self.limit);
        Ok(found)
    }
}

impl BestSegment {
    /// Whether no id could bring this score and time into the page.
    fn is_hopeless(&self, score: u32, at: i64) -> bool {
        let full = self.heap.len() >= self.limit;
        full && self
            .heap
            .peek()
            .is_some_and(|Reverse((worst, _))| (score, at) < (worst.score, worst.at))
    }
}

impl SegmentCollector for BestSegment {
    type Fruit = Found;

    fn collect(&mut self, doc: DocId, score: Score) {
        self.total += 1;
        let score = (score * SCORE_STEPS).round() as u32;
        let at = self.at.first(doc).unwrap_or(i64::MIN);
        if self.is_hopeless(score, at) {
            return;
        }
        let high = self.id_high.first(doc).unwrap_or(0);
        let low = self.id_low.first(doc).unwrap_or(0);
        let sort = self.sort.first(doc).unwrap_or(0);
        let key = Key::new(score, at, u128::from(high) << 64 | u128::from(low), sort);
        if self.after.is_some_and(|after| key >= after) {
            return;
        }
        self.heap
            .push(Reverse((key, DocAddress::new(self.segment, doc))));
        if self.heap.len() > self.limit {
            self.heap.pop();
        }
    }

    fn harvest(self) -> Found {
        Found {
            best: self.heap.into_iter().map(|Reverse(entry)| entry).collect(),
            total: self.total,
        }
    }
}
