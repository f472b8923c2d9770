use super::*;

fn read(pairs: &[(&str, &str)]) -> Result<Config, ConfigError> {
    Config::read(&Environment::from_pairs(pairs.iter().copied()))
}

#[test]
fn an_empty_environment_is_a_whole_configuration() {
    let config = read(&[]).unwrap();
    assert_eq!(config.server.listen.port(), 8080);
    assert!(config.database.url.is_none());
    assert!(matches!(config.mail.way, MailWay::Folder(ref f) if f.ends_with("post")));
    assert_eq!(config.uploads.bytes, 2 << 30);
    assert_eq!(config.take_back, Duration::from_secs(120));
}

#[test]
fn a_wrong_value_names_its_variable_what_was_given_and_what_is_allowed() {
    for variable in VARIABLES {
        // No variable of a fixed form allows this; free text and folders do.
        let given = "\u{1}no such://thing<";
        let free = [
            "REFRAIN_USER",
            "REFRAIN_S3_REGION",
            "REFRAIN_S3_ACCESS_KEY",
            "REFRAIN_S3_SECRET_KEY",
            "REFRAIN_S3_ENDPOINT",
        ];
        if free.contains(&variable.name) {
            continue;
        }
        let words = read(&[(variable.name, given)])
            .map(|_| ())
            .expect_err(variable.name)
            .to_string();
        assert!(
            words.starts_with(&format!("{}: ", variable.name)),
            "{words}"
        );
        assert!(words.contains(variable.allowed), "{words}");
        assert_eq!(words.contains(given), !variable.secret, "{words}");
    }
}

#[test]
fn a_number_out_of_range_names_the_range() {
    let words = read(&[("REFRAIN_UPLOAD_SECONDS", "0")])
        .unwrap_err()
        .to_string();
    assert_eq!(
        words,
        "REFRAIN_UPLOAD_SECONDS: `0` is not allowed; give a number of seconds from 1 to 3600"
    );
}

#[test]
fn a_bucket_needs_its_keys() {
    let words = read(&[("REFRAIN_FOOTAGE_URL", "s3://shots/a/")])
        .unwrap_err()
        .to_string();
    assert!(
        words.starts_with("REFRAIN_S3_ACCESS_KEY is not set"),
        "{words}"
    );
    let config = read(&[
        ("REFRAIN_FOOTAGE_URL", "s3://shots/a/"),
        ("REFRAIN_S3_ACCESS_KEY", "k"),
        ("REFRAIN_S3_SECRET_KEY", "hush"),
        ("REFRAIN_S3_ENDPOINT", "http://127.0.0.1:5005/"),
    ])
    .unwrap();
    let shown = format!("{config:?}");
    assert!(!shown.contains("hush"), "a secret was shown");
    match config.footage {
        FootageConfig::S3(s3) => {
            assert_eq!((s3.bucket.as_str(), s3.prefix.as_str()), ("shots", "a"));
            assert_eq!(s3.endpoint.as_deref(), Some("http://127.0.0.1:5005"));
        }
        FootageConfig::Folder(f) => panic!("{}", f.display()),
    }
}

#[test]
fn a_misspelt_variable_is_noticed() {
    let env = Environment::from_pairs([
        ("REFRAIN_LISTNE", "x"),
        ("REFRAIN_LOG", "info"),
        ("HOME", "/"),
    ]);
    assert_eq!(env.unknown(), ["REFRAIN_LISTNE"]);
}

#[test]
fn the_readme_holds_the_table_of_variables() {
    let readme = concat!(env!("CARGO_MANIFEST_DIR"), "/../../README.md");
    let text = std::fs::read_to_string(readme).unwrap();
    assert!(
        text.contains(&markdown_table()),
        "README.md: replace the table by the output of `refrain doctor --variables`"
    );
}
