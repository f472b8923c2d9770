//! Pages, cursors and odd searches.

use super::data::{archive, folder, id, ids, mentor, note, put, search};
use crate::{Document, SearchError};

#[test]
fn notes_written_between_two_pages_neither_repeat_nor_hide_a_hit() {
    let folder = folder();
    let old: Vec<Document> = (1..=40)
        .map(|n| {
            note(
                n,
                &format!("hand {}", "hip slides late ".repeat(n as usize % 4)),
            )
        })
        .collect();
    let archive = archive(folder.path(), &old);
    let whole = ids(&search(&archive, &mentor(), "hand ", 100, None).unwrap());
    assert_eq!(whole.len(), 40);

    let (mut found, mut cursor) = (Vec::new(), None::<String>);
    for round in 0.. {
        let page = search(&archive, &mentor(), "hand ", 7, cursor.as_deref()).unwrap();
        found.extend(ids(&page).into_iter().filter(|n| *n <= 40));
        let new: Vec<_> = (0..5)
            .map(|n| put(&note(100 + 5 * round + n, "hand hand foot late")))
            .collect();
        archive.apply(&new, 2 + round as u64).unwrap();
        cursor = page.next_cursor;
        if cursor.is_none() {
            break;
        }
    }
    assert_eq!(found, whole, "same hits in the same order");
}

#[test]
fn a_cursor_of_another_search_is_refused() {
    let folder = folder();
    let documents: Vec<Document> = (1..=9).map(|n| note(n, "hand hip")).collect();
    let archive = archive(folder.path(), &documents);
    let cursor = search(&archive, &mentor(), "hand", 2, None)
        .unwrap()
        .next_cursor
        .unwrap();
    let other = crate::Asker {
        person: id(201),
        ..mentor()
    };
    let refused = [
        search(&archive, &mentor(), "hip", 2, Some(&cursor)),
        search(&archive, &other, "hand", 2, Some(&cursor)),
        search(&archive, &mentor(), "hand", 2, Some("")),
        search(&archive, &mentor(), "hand", 2, Some(&cursor[1..])),
        search(&archive, &mentor(), "hand", 2, Some(&"A".repeat(100_000))),
    ];
    for answer in refused {
        assert!(matches!(answer, Err(SearchError::Cursor)), "{answer:?}");
    }
}

#[test]
fn odd_searches_have_sensible_answers() {
    let folder = folder();
    let documents = [
        note(1, "the hand \u{1F525}"),
        note(2, "\u{5D4}\u{5D9}\u{5D3} \u{5E0}\u{5E2}\u{5D4}"),
        note(3, "\u{624B}\u{304C}"),
    ];
    let archive = archive(folder.path(), &documents);
    let found = |text: &str| ids(&search(&archive, &mentor(), text, 10, None).unwrap());
    for text in [
        "",
        " ",
        "*",
        "\"",
        "\"\"",
        "?!.,;:()[]{}",
        "* * *",
        "\u{0}",
        "\u{202E}\u{200F}",
        "\\",
        "-",
        "+",
        "&&",
        "'",
    ] {
        assert_eq!(found(text), [3, 2, 1], "{text:?} has no words");
    }
    assert_eq!(found("\u{1F525}"), [1]);
    assert_eq!(found("\u{1F525} hand \""), [1]);
    assert_eq!(
        found("\u{202E}\u{5D9}\u{5D3}"),
        [],
        "part of a word is not the word"
    );
    assert_eq!(found("\u{200F}\u{5D4}\u{5D9}\u{5D3}"), [2]);
    assert_eq!(found("\u{624B}"), [3]);
    assert_eq!(found("hand AND foot"), []);
    let long = "hand ".repeat(2_000);
    assert!(matches!(
        search(&archive, &mentor(), &long, 10, None),
        Err(SearchError::Text(_))
    ));
}
