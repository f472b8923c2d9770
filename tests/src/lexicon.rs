//! A school's own words from the outside: checked when added, read from then on, in that school alone.

use serde_json::{Value, json};
use tests::harness::TestApp;
use tests::harness::cluster::{aside, connect};
use tests::harness::people::Person;

struct Schools {
    t: TestApp,
    mara: Person,
    otto: Person,
    orla: Person,
    away: Person,
}

impl Schools {
    async fn new() -> Self {
        let t = TestApp::start().await;
        let (near, far) = (t.school("near"), t.school("far"));
        Self {
            mara: t.person(&near, "Mara", &["mentor"]),
            otto: t.person(&near, "Otto", &["mentor"]),
            orla: t.person(&near, "Orla", &["office"]),
            away: t.person(&far, "Away", &["mentor", "office"]),
            t,
        }
    }

    /// Another process changes the words.
    fn as_owner(&self, sql: &str) {
        aside(|| connect(&self.t.database.owner_url).batch_execute(sql)).expect("a change");
    }
}

async fn add(who: &Person, table: &str, phrase: &str, meaning: &str) -> Value {
    let word = json!({ "table": table, "phrase": phrase, "meaning": meaning });
    who.post("/api/v1/lexicon/words", &word).await.expect(201)
}

async fn tried(who: &Person, text: &str) -> Value {
    let trial = json!({ "text": text });
    who.post("/api/v1/lexicon/trials", &trial).await.expect(200)
}

async fn phrases(who: &Person) -> Vec<String> {
    let page = who.get("/api/v1/lexicon/words").await.expect(200);
    let items = page["items"].as_array().expect("items").iter();
    items
        .map(|word| word["phrase"].as_str().expect("a phrase").to_owned())
        .collect()
}

#[tokio::test]
async fn a_word_changes_what_notes_say_in_that_school_alone() {
    let s = Schools::new().await;
    let text = "bambi mode on the left zonker";
    for who in [&s.mara, &s.away] {
        let before = tried(who, text).await;
        assert_eq!(before["after"], before["before"]);
        assert_eq!(before["after"]["traits"], json!([]));
    }
    add(&s.mara, "traits", "bambi  mode ", "foot-slide").await;
    add(&s.orla, "parts", "zonker", "hand").await;
    for who in [&s.mara, &s.otto, &s.orla] {
        let after = tried(who, text).await;
        assert_eq!(after["before"]["traits"], json!([]));
        assert_eq!(after["after"]["traits"], json!(["foot-slide"]));
        assert_eq!(after["after"]["principles"][0], "contact");
        assert_eq!(
            after["after"]["parts"],
            json!([{ "part": "hand", "side": "left" }])
        );
        assert_eq!(phrases(who).await, ["zonker", "bambi mode"]);
    }
    let away = tried(&s.away, text).await;
    assert_eq!(away["after"], away["before"]);
    assert!(phrases(&s.away).await.is_empty());
}

#[tokio::test]
async fn a_word_added_or_removed_behind_the_programs_back_is_noticed() {
    let s = Schools::new().await;
    let text = "the hand zonks";
    let traits = |answer: Value| answer["after"]["traits"].clone();
    let own = add(&s.mara, "traits", "zonks", "pop").await;
    assert_eq!(traits(tried(&s.mara, text).await), json!(["pop"]));
    // Another process: one word goes and another comes, so that their number stays.
    let change = format!(
        "WITH gone AS (DELETE FROM lexicon_word WHERE id = '{}' RETURNING school_id, added_by)
         INSERT INTO lexicon_word (id, school_id, held_in, phrase, meaning, added_by, added_at)
         SELECT gen_random_uuid(), school_id, 'traits', 'zonks', 'hitch', added_by, now() FROM gone",
        own["id"].as_str().expect("an id")
    );
    s.as_owner(&change);
    assert_eq!(traits(tried(&s.otto, text).await), json!(["hitch"]));
    s.as_owner("DELETE FROM lexicon_word");
    assert_eq!(traits(tried(&s.otto, text).await), json!([]));
}

#[tokio::test]
async fn a_word_is_removed_by_any_mentor_of_the_school_and_by_nobody_else() {
    let s = Schools::new().await;
    let word = add(&s.mara, "cues", "zonk", "praise").await;
    let path = format!(
        "/api/v1/lexicon/words/{}",
        word["id"].as_str().expect("an id")
    );
    s.away.delete(&path).await.expect(404);
    assert_eq!(phrases(&s.mara).await, ["zonk"]);
    assert_eq!(s.otto.delete(&path).await.status, 204);
    assert!(phrases(&s.mara).await.is_empty());
    s.mara.delete(&path).await.expect(404);
}

#[tokio::test]
async fn a_word_is_tried_before_it_is_added() {
    let s = Schools::new().await;
    let trial = json!({ "text": "he is all zonky", "word": { "table": "traits", "phrase": "zonky", "meaning": "pop" } });
    let answer = s.mara.post("/api/v1/lexicon/trials", &trial).await;
    let tried = answer.expect(200);
    assert_eq!(tried["before"]["traits"], json!([]));
    assert_eq!(tried["after"]["traits"], json!(["pop"]));
    assert!(phrases(&s.mara).await.is_empty());
    let wrong =
        json!({ "text": "x", "word": { "table": "traits", "phrase": "Zonky", "meaning": "pop" } });
    let refused = s
        .mara
        .post("/api/v1/lexicon/trials", &wrong)
        .await
        .expect(422);
    assert_eq!(refused["errors"][0]["field"], "word.phrase");
}

#[tokio::test]
async fn a_wrong_word_is_refused_with_field_reason_and_remedy() {
    let s = Schools::new().await;
    add(&s.mara, "traits", "zonk", "pop").await;
    for (table, phrase, meaning, status, field, says) in [
        ("traits", "Zonk!", "pop", 422, "phrase", "lower-case"),
        (
            "traits",
            "doesn't stop",
            "pop",
            422,
            "phrase",
            "apostrophes",
        ),
        (
            "traits",
            "~ zonk",
            "pop",
            422,
            "phrase",
            "between two words",
        ),
        ("traits", "zo*", "pop", 422, "phrase", "three letters"),
        ("traits", "<n>", "pop", 422, "phrase", "at least one word"),
        ("traits", " ", "pop", 422, "phrase", "at least one word"),
        ("traits", "", "pop", 422, "phrase", "1 to 80"),
        ("parts", "big flipper", "hand", 422, "phrase", "one word"),
        ("parts", "flipper", "fin", 422, "meaning", "nothing called"),
        ("traits", "bambi", "legs", 422, "meaning", "nothing called"),
        (
            "directions",
            "zonk",
            "sideways:+1",
            422,
            "meaning",
            "nothing called",
        ),
        (
            "principle_words",
            "zonk",
            "pop",
            422,
            "meaning",
            "nothing called",
        ),
        ("cues", "zonk", "applause", 422, "meaning", "nothing called"),
        ("qualities", "zonk", "pop", 422, "meaning", "nothing called"),
        ("traits", "zonk", "hitch", 409, "phrase", "\"pop\""),
        ("traits", "zonk", "pop", 409, "phrase", "\"pop\""),
        ("parts", "hand", "hand", 409, "phrase", "\"hand\""),
    ] {
        let word = json!({ "table": table, "phrase": phrase, "meaning": meaning });
        let answer = s.mara.post("/api/v1/lexicon/words", &word).await;
        assert_eq!(answer.status, status, "{word}: {answer}");
        let error = &answer.json()["errors"][0];
        assert_eq!(error["field"], field, "{word}: {error}");
        let reason = error["reason"].as_str().expect("a reason");
        assert!(reason.contains(says), "{word}: {error}");
        let remedied = error["remedy"].as_str().is_some_and(|r| !r.is_empty());
        assert!(remedied || phrase.is_empty(), "{word}: {error}");
    }
    assert_eq!(phrases(&s.mara).await, ["zonk"]);
    let unknown = json!({ "table": "numbers", "phrase": "x", "meaning": "y" });
    s.mara
        .post("/api/v1/lexicon/words", &unknown)
        .await
        .expect(422);
}

#[tokio::test]
async fn a_school_says_what_its_word_stands_for_instead() {
    let s = Schools::new().await;
    let tables = s.mara.get("/api/v1/lexicon/tables").await.expect(200);
    let held = tables["tables"][0].clone();
    assert_eq!(held["table"], "traits");
    let pop = held["meanings"].as_array().expect("meanings").iter();
    let pop = pop.clone().find(|m| m["name"] == "pop").expect("pop");
    let phrase = pop["examples"][0].as_str().expect("an example");
    let word = add(&s.mara, "traits", phrase, "hitch").await;
    assert_eq!(word["instead_of"], "pop");
    let after = tried(&s.mara, phrase).await;
    assert_eq!(after["before"]["traits"][0], "pop");
    assert_eq!(after["after"]["traits"][0], "hitch");
}

#[tokio::test]
async fn two_mentors_at_once_do_not_give_one_phrase_two_meanings() {
    let s = Schools::new().await;
    let word = |meaning| json!({ "table": "traits", "phrase": "zonk", "meaning": meaning });
    let (pop, hitch) = (word("pop"), word("hitch"));
    let (one, two) = tokio::join!(
        s.mara.post("/api/v1/lexicon/words", &pop),
        s.otto.post("/api/v1/lexicon/words", &hitch)
    );
    let mut statuses = [one.status, two.status];
    statuses.sort_unstable();
    assert_eq!(statuses, [201, 409]);
    assert_eq!(phrases(&s.mara).await, ["zonk"]);
}
