//! What Postgres ran for one request, read from its log and written down again for pgbench.

use std::collections::BTreeSet;

use sha2::{Digest, Sha256};

use crate::log::{Logged, transactions};
use crate::yards::{Student, id_sql};

/// The statements of one send.
pub struct Recorded {
    statements: Vec<Statement>,
    /// What in the values is this one send's.
    own: Vec<Own>,
    /// The hash of its session's token, in hexadecimal.
    token: String,
}

/// An id or key of one send's own: as it was, of what it is, and whether each send of a student has another.
struct Own {
    value: String,
    what: String,
    each: bool,
}

/// A statement with its parameters' types and values.
struct Statement {
    text: String,
    values: Vec<(String, Option<String>)>,
}

impl Recorded {
    /// Reads the transactions of that student's one send; `shared` are ids that all sends have in common.
    pub fn read(
        log: &str,
        student: &Student,
        shared: &[String],
        owner: &mut postgres::Client,
    ) -> Self {
        let is_ours = |logged: &Logged| {
            let mut values = logged.values.iter().flatten();
            logged.text.contains("find_session")
                || (logged.text.contains("set_config") && values.any(|v| *v == student.person))
        };
        let ours = transactions(log)
            .into_iter()
            .filter(|transaction| transaction.iter().any(is_ours));
        let statements: Vec<Statement> =
            ours.flatten().map(|logged| typed(logged, owner)).collect();
        let sends = statements
            .iter()
            .filter(|statement| statement.text.contains("INSERT INTO revision"));
        assert_eq!(sends.count(), 1, "the one send is not in the log: {log}");
        let own = |value: &str, what: &str, each: bool| Own {
            value: value.to_owned(),
            what: what.to_owned(),
            each,
        };
        let mut owns = vec![
            own(&student.person, "person", false),
            own(&student.enrolment, "enrolment", false),
            own(&student.shot, "shot", false),
            own(&student.footage[0], "footage", true),
            own(&student.keys[0], "key", true),
        ];
        let known = owns.iter().map(|own| own.value.clone());
        let known: Vec<String> = known.chain(shared.iter().cloned()).collect();
        owns.extend(made_ids(&statements, &known));
        Self {
            statements,
            own: owns,
            token: hex(&Sha256::digest(student.token.as_bytes())),
        }
    }

    /// How many statements a send runs, its BEGINs and COMMITs among them.
    pub fn statements(&self) -> usize {
        self.statements.len()
    }

    /// A script for pgbench in which client k is student k of the group, and sends the next piece of footage each time.
    pub fn script(&self, group: &str) -> String {
        let mut script = String::from("\\set i :i + 1\n");
        for statement in &self.statements {
            script += &self.written(statement, group);
            script += ";\n";
        }
        script
    }

    fn written(&self, statement: &Statement, group: &str) -> String {
        let mut text = statement.text.clone();
        // From the last, so that $1 is not found in $12.
        for (at, (kind, value)) in statement.values.iter().enumerate().rev() {
            let value = match value {
                None => "NULL".to_owned(),
                Some(value) => self.value(value, group),
            };
            text = text.replace(&format!("${}", at + 1), &format!("({value})::{kind}"));
        }
        text.replace('\n', " ")
    }

    /// A value as SQL: constant, but for what is each send's own.
    fn value(&self, value: &str, group: &str) -> String {
        if value == format!("\\x{}", self.token) {
            return format!("sha256(convert_to('{group}-' || :client_id::text, 'UTF8'))");
        }
        let mut written = format!("'{}'", value.replace('\'', "''"));
        for own in &self.own {
            let which = if own.each { ":i::text" } else { "'0'" };
            let sql = id_sql(&own.what, group, ":client_id::text", which);
            written = written.replace(&own.value, &format!("' || {sql} || '"));
        }
        written
    }
}

/// Asks Postgres what the parameters' types are.
fn typed(logged: Logged, owner: &mut postgres::Client) -> Statement {
    let Logged { text, values } = logged;
    let mut types: Vec<String> = vec![];
    if !values.is_empty() {
        owner
            .batch_execute(&format!("PREPARE recorded AS {text}"))
            .unwrap_or_else(|e| panic!("{text}: {e:?}"));
        let sql =
            "SELECT parameter_types::text[] FROM pg_prepared_statements WHERE name = 'recorded'";
        types = owner.query_one(sql, &[]).expect("its types").get(0);
        owner.batch_execute("DEALLOCATE recorded").expect("an end");
    }
    assert_eq!(types.len(), values.len(), "{text}");
    Statement {
        text,
        values: types.into_iter().zip(values).collect(),
    }
}

/// The ids that the program made for this send: all that are neither the student's nor shared.
fn made_ids(statements: &[Statement], known: &[String]) -> Vec<Own> {
    let values = statements.iter().flat_map(|statement| &statement.values);
    let ids: BTreeSet<String> = values
        .filter_map(|(_, value)| value.as_deref())
        .flat_map(ids_in)
        .collect();
    ids.into_iter()
        .filter(|id| !known.contains(id))
        .enumerate()
        .map(|(n, value)| Own {
            value,
            what: format!("made{n}"),
            each: true,
        })
        .collect()
}

fn ids_in(text: &str) -> Vec<String> {
    let is_id = |part: &&[u8]| {
        part.iter().enumerate().all(|(at, byte)| match at {
            8 | 13 | 18 | 23 => *byte == b'-',
            _ => byte.is_ascii_hexdigit(),
        })
    };
    let parts = text.as_bytes().windows(36).filter(is_id);
    parts
        .map(|part| String::from_utf8_lossy(part).into_owned())
        .collect()
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
