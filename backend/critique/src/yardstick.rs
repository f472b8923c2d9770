//! Likeness by words alone, as others compute it: what matching by place, part and principle is measured against.

use std::collections::HashMap;

use crate::words::tokens;

/// Texts with the counts both yardsticks need.
pub struct Corpus {
    counts: Vec<HashMap<String, f64>>,
    lengths: Vec<f64>,
    df: HashMap<String, f64>,
}

/// Okapi BM25 with k1 = 1.5, b = .75 and a floor under the idf of common words, as rank-bm25's `BM25Okapi`.
const K1: f64 = 1.5;
const B: f64 = 0.75;
const FLOOR: f64 = 0.25;

impl Corpus {
    /// Counts the words of the texts; no stemming, every word.
    pub fn new<'a>(texts: impl IntoIterator<Item = &'a str>) -> Corpus {
        let mut corpus = Corpus {
            counts: vec![],
            lengths: vec![],
            df: HashMap::new(),
        };
        for text in texts {
            let counts = counts(text);
            for word in counts.keys() {
                *corpus.df.entry(word.clone()).or_default() += 1.0;
            }
            corpus.lengths.push(counts.values().sum());
            corpus.counts.push(counts);
        }
        corpus
    }

    fn size(&self) -> f64 {
        usize_f64(self.counts.len())
    }

    /// BM25 of every text for a query.
    pub fn bm25(&self, query: &str) -> Vec<f64> {
        let n = self.size();
        let idf = |df: f64| (n - df + 0.5).ln() - (df + 0.5).ln();
        let mean_idf = self.df.values().map(|df| idf(*df)).sum::<f64>() / usize_f64(self.df.len());
        let mean_length = self.lengths.iter().sum::<f64>() / n;
        let mut scores = vec![0.0; self.counts.len()];
        for word in tokens(query).into_iter().map(|t| t.text) {
            let Some(df) = self.df.get(&word) else {
                continue;
            };
            let raw = idf(*df);
            let idf = if raw < 0.0 { FLOOR * mean_idf } else { raw };
            for (score, (counts, length)) in
                scores.iter_mut().zip(self.counts.iter().zip(&self.lengths))
            {
                let tf = counts.get(&word).copied().unwrap_or(0.0);
                *score += idf * tf * (K1 + 1.0) / (tf + K1 * (1.0 - B + B * length / mean_length));
            }
        }
        scores
    }

    /// Cosine of tf·idf of every text and a query, idf = ln((1 + N) / (1 + df)) + 1, as scikit-learn's `TfidfVectorizer`;
    /// with `logarithm` 1 + ln tf stands for tf.
    pub fn tfidf(&self, query: &str, logarithm: bool) -> Vec<f64> {
        let asked = counts(query);
        let asked = self.vector(&asked, logarithm);
        self.counts
            .iter()
            .map(|text| {
                let text = self.vector(text, logarithm);
                asked
                    .iter()
                    .map(|(word, x)| x * text.get(word).copied().unwrap_or(0.0))
                    .sum()
            })
            .collect()
    }

    fn vector<'a>(
        &self,
        counts: &'a HashMap<String, f64>,
        logarithm: bool,
    ) -> HashMap<&'a str, f64> {
        let mut vector: HashMap<&str, f64> = HashMap::new();
        for (word, tf) in counts {
            if let Some(df) = self.df.get(word) {
                let idf = ((1.0 + self.size()) / (1.0 + df)).ln() + 1.0;
                vector.insert(
                    word,
                    if logarithm {
                        (1.0 + tf.ln()) * idf
                    } else {
                        tf * idf
                    },
                );
            }
        }
        let length = vector.values().map(|x| x * x).sum::<f64>().sqrt();
        if length > 0.0 {
            vector.values_mut().for_each(|x| *x /= length);
        }
        vector
    }
}

fn counts(text: &str) -> HashMap<String, f64> {
    let mut counts: HashMap<String, f64> = HashMap::new();
    for token in tokens(text) {
        *counts.entry(token.text).or_default() += 1.0;
    }
    counts
}

#[expect(clippy::cast_precision_loss, reason = "counts of words")]
fn usize_f64(n: usize) -> f64 {
    n as f64
}
