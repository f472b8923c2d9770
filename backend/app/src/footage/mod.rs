//! Where footage lies: the source and what is made of it, as objects under one key per footage.

use std::path::Path;

use bytes::Bytes;
use domain::FootageId;
use object_store::path::Path as Key;
use object_store::{ObjectStore, ObjectStoreExt, WriteMultipart};
use tokio::io::AsyncReadExt;

/// Pieces of a file on its way into the store, bytes.
const PIECE: usize = 8 << 20;

/// What the student reads of a file that cannot be used: the body of the problem (RFC 9457), with the refusal's own code under `file`.
#[must_use]
pub fn refused(refusal: &str, words: &str) -> serde_json::Value {
    let code = domain::ProblemCode::FootageRefused;
    serde_json::json!({ "type": format!("/problems/{}", code.as_str()), "title": code.title(), "status": code.status(), "detail": words,
        "code": code, "errors": [{ "field": "file", "reason": refusal }] })
}

/// Why a file could not be moved in or out.
#[derive(Debug, thiserror::Error)]
pub enum KeepError {
    /// The store refused.
    #[error("the footage store: {0}")]
    Store(#[from] object_store::Error),
    /// The disk refused.
    #[error("the disk: {0}")]
    Disk(#[from] std::io::Error),
}

/// One of the files of a footage.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Item {
    /// The file as it was sent.
    Source,
    /// The review copy.
    Copy,
    /// The larger copy.
    Large,
    /// A row of small pictures.
    Strip,
    /// One picture.
    Poster,
    /// The sound.
    Sound,
}

impl Item {
    fn name(self) -> &'static str {
        match self {
            Item::Source => "source",
            Item::Copy => "copy.mp4",
            Item::Large => "large.mp4",
            Item::Strip => "strip.jpg",
            Item::Poster => "poster.jpg",
            Item::Sound => "sound.m4a",
        }
    }

    /// Its media type.
    pub fn media_type(self) -> &'static str {
        match self {
            Item::Source => "application/octet-stream",
            Item::Copy | Item::Large => "video/mp4",
            Item::Strip | Item::Poster => "image/jpeg",
            Item::Sound => "audio/mp4",
        }
    }
}

/// Its key.
pub fn key(footage: FootageId, item: Item) -> Key {
    Key::from(format!("footage/{footage}/{}", item.name()))
}

/// Puts a file into the store under `key`, never holding more than a few pieces of it.
///
/// # Errors
/// If the file cannot be read or the store refuses; nothing is left under the key.
pub async fn put_file(store: &dyn ObjectStore, key: &Key, file: &Path) -> Result<(), KeepError> {
    let mut source = tokio::fs::File::open(file).await?;
    let length = source.metadata().await?.len();
    if length <= PIECE as u64 {
        let mut whole = Vec::with_capacity(usize::try_from(length).unwrap_or(0));
        source.read_to_end(&mut whole).await?;
        store.put(key, whole.into()).await?;
        return Ok(());
    }
    let mut upload = WriteMultipart::new_with_chunk_size(store.put_multipart(key).await?, PIECE);
    let mut buffer = vec![0; 1 << 20];
    loop {
        let read = match source.read(&mut buffer).await {
            Ok(0) => break,
            Ok(read) => read,
            Err(error) => {
                upload.abort().await?;
                return Err(error.into());
            }
        };
        upload.wait_for_capacity(2).await?;
        upload.put(Bytes::copy_from_slice(&buffer[..read]));
    }
    upload.finish().await?;
    Ok(())
}

/// Fetches an object into a file.
///
/// # Errors
/// If it is not there or the disk refuses.
pub async fn fetch_file(store: &dyn ObjectStore, key: &Key, file: &Path) -> Result<(), KeepError> {
    use futures_util::StreamExt;
    use tokio::io::AsyncWriteExt;
    let mut stream = store.get(key).await?.into_stream();
    let mut target = tokio::fs::File::create(file).await?;
    while let Some(piece) = stream.next().await {
        target.write_all(&piece?).await?;
    }
    target.flush().await?;
    Ok(())
}
