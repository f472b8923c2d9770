//! A hundred times the demo school, written past the policies: 1,200 students, 2,000 shots, 5,500 revisions and what was said of them.
//! Everything in it is invented.

use app::token::Token;
use postgres::Client;
use tests::harness::cluster::connect;
use uuid::Uuid;

/// The school, and whom and what the routes are asked for.
pub struct School {
    /// How many rows each large table has.
    pub rows: Vec<(&'static str, i64)>,
    /// Tokens of sessions: of the busiest mentor, of one of their students, of the office.
    pub mentor: String,
    pub student: String,
    pub office: String,
    /// Of the mentor.
    pub students: Vec<String>,
    pub shots: Vec<String>,
    pub critiques: Vec<String>,
    pub footage: Vec<String>,
    /// Of the student.
    pub own_critiques: Vec<String>,
    /// Of anybody.
    pub enrolments: Vec<String>,
    /// How much the mentor finds in the archive, all in all.
    pub found: u64,
}

const MENTOR: &str =
    "(SELECT mentor_id FROM enrolment GROUP BY 1 ORDER BY count(*) DESC, 1 LIMIT 1)";

impl School {
    /// Fills the database; the same rows each time but for their ids.
    pub fn fill(url: &str) -> Self {
        let mut sql = connect(url);
        sql.batch_execute("SET session_replication_role = replica; SELECT setseed(0.25)")
            .expect("no triggers");
        for statement in STATEMENTS {
            sql.batch_execute(statement)
                .unwrap_or_else(|e| panic!("{statement}: {e:?}"));
        }
        sql.batch_execute("SET session_replication_role = origin")
            .expect("triggers");
        for table in ["", "enrolment", "critique", "note"] {
            sql.batch_execute(&format!("ANALYZE {table}"))
                .expect("statistics");
        }
        let rows = [
            "person",
            "enrolment",
            "shot",
            "revision",
            "critique",
            "note",
            "verdict",
            "answer",
            "stroke",
            "quota_entry",
            "mail",
            "job",
        ]
        .map(|table| {
            (
                table,
                one(&mut sql, &format!("SELECT count(*) FROM {table}")),
            )
        })
        .to_vec();
        let of_mentor = format!("IN (SELECT id FROM enrolment WHERE mentor_id = {MENTOR})");
        let student = format!(
            "(SELECT e.student_id FROM enrolment e JOIN critique c ON c.enrolment_id = e.id AND c.released_at <= now() WHERE e.mentor_id = {MENTOR}
               GROUP BY 1 ORDER BY count(*) DESC, 1 LIMIT 1)"
        );
        Self {
            rows,
            mentor: session(&mut sql, MENTOR),
            student: session(&mut sql, &student),
            office: session(
                &mut sql,
                "(SELECT id FROM person WHERE 'office' = ANY (roles) LIMIT 1)",
            ),
            students: ids(
                &mut sql,
                &format!("SELECT student_id FROM enrolment WHERE mentor_id = {MENTOR}"),
            ),
            shots: ids(
                &mut sql,
                &format!("SELECT id FROM shot WHERE enrolment_id {of_mentor}"),
            ),
            critiques: ids(
                &mut sql,
                &format!(
                    "SELECT c.id FROM critique c JOIN revision r ON r.id = c.revision_id WHERE c.enrolment_id {of_mentor} ORDER BY r.number DESC, c.id"
                ),
            ),
            footage: ids(
                &mut sql,
                &format!(
                    "SELECT r.footage_id FROM revision r JOIN shot s ON s.id = r.shot_id WHERE s.enrolment_id {of_mentor}"
                ),
            ),
            own_critiques: ids(
                &mut sql,
                &format!(
                    "SELECT id FROM critique WHERE released_at <= now() AND student_id = {student}"
                ),
            ),
            found: one(
                &mut sql,
                &format!(
                    "SELECT count(*) FROM archive_document d WHERE d.enrolment_id {of_mentor}"
                ),
            )
            .unsigned_abs(),
            enrolments: ids(&mut sql, "SELECT id FROM enrolment ORDER BY student_id"),
        }
    }
}

fn one(sql: &mut Client, query: &str) -> i64 {
    sql.query_one(query, &[]).expect("a number").get(0)
}

/// A few dozen, so that each round asks for another one.
fn ids(sql: &mut Client, query: &str) -> Vec<String> {
    let rows = sql.query(&format!("{query} LIMIT 50"), &[]);
    let rows = rows.unwrap_or_else(|e| panic!("{query}: {e:?}"));
    assert!(!rows.is_empty(), "{query}");
    rows.iter()
        .map(|row| row.get::<_, Uuid>(0).to_string())
        .collect()
}

fn session(sql: &mut Client, person: &str) -> String {
    let token = Token::random();
    let insert = format!(
        "INSERT INTO session (token_hash, school_id, person_id, created_at, seen_at) SELECT $1, school_id, id, now(), now() FROM person WHERE id = {person}"
    );
    let added = sql.execute(&insert, &[&token.hash().as_slice()]);
    assert_eq!(added.expect("a session"), 1, "{person}");
    token.to_string()
}

/// Sixty students a mentor, ten times those of the demo; one to three shots a student, one to five revisions a shot.
const STATEMENTS: &[&str] = &[
    "INSERT INTO school SELECT gen_random_uuid(), 'big', 'A big school', 'Europe/Vienna', now()",
    "INSERT INTO person (id, school_id, email, name, roles, joined_at, created_at)
       SELECT gen_random_uuid(), s.id, role || n || '@big.example', initcap(role) || ' ' || n, ARRAY[role], now(), now()
       FROM school s, (VALUES ('student', 1200), ('mentor', 20), ('office', 5)) r (role, many), generate_series(1, many) n",
    "INSERT INTO course SELECT gen_random_uuid(), s.id, 'Course ' || n, 'Bring a shot.', 16, 7, now() FROM school s, generate_series(1, 60) n",
    "INSERT INTO assignment SELECT gen_random_uuid(), school_id, id, 'Brief ' || n, 'From standing.', now() FROM course, generate_series(1, 4) n",
    "INSERT INTO enrolment (id, school_id, course_id, student_id, mentor_id, starts_on, created_at)
       SELECT gen_random_uuid(), p.school_id, c.id, p.id, m.id, current_date - 300, now() - interval '300 days'
       FROM (SELECT *, row_number() OVER (ORDER BY email) AS n FROM person WHERE roles = '{student}') p
       JOIN (SELECT *, row_number() OVER (ORDER BY name) AS n FROM course) c ON c.n = 1 + p.n % 60
       JOIN (SELECT *, row_number() OVER (ORDER BY email) AS n FROM person WHERE roles = '{mentor}') m ON m.n = 1 + p.n % 20",
    "INSERT INTO shot SELECT gen_random_uuid(), e.school_id, e.id, e.course_id, e.student_id, NULL, 'Shot ' || n, 101, now() - interval '40 days' - random() * interval '200 days'
       FROM (SELECT *, row_number() OVER (ORDER BY id) AS k FROM enrolment) e, generate_series(1, 3) n WHERE n <= 1 + e.k % 3 AND (n < 3 OR e.k % 2 = 0) OR n = 1",
    "INSERT INTO revision SELECT gen_random_uuid(), s.school_id, s.id, n, NULL, gen_random_uuid(), 'spline', s.created_at + n * interval '6 days'
       FROM (SELECT *, row_number() OVER (ORDER BY id) AS k FROM shot) s, generate_series(1, 5) n WHERE n <= 1 + s.k % 5",
    "INSERT INTO footage (id, school_id, student_id, filename, source_key, source_bytes, probe, state, progress, width, height, frames, fps_num, fps_den,
         time_base_num, time_base_den, frame_pts, last_duration, derived, recipe, created_at, ready_at)
       SELECT r.footage_id, r.school_id, s.student_id, 'shot.mp4', 'none', 9000000, '{}', 'ready', 1, 1280, 720, 240, 24, 1, 1, 24,
         ARRAY(SELECT generate_series(0, 239)::bigint), 1, '{}', 1, r.created_at, r.created_at
       FROM revision r JOIN shot s ON s.id = r.shot_id",
    "INSERT INTO submission (id, school_id, enrolment_id, student_id, shot_id, revision_id, idem_key, request_hash, words, sent_at, promised_on)
       SELECT gen_random_uuid(), s.school_id, s.enrolment_id, s.student_id, s.id, r.id, r.id::text, '\\x00', 'Is the landing heavy enough?', r.created_at,
         (r.created_at + interval '7 days')::date FROM revision r JOIN shot s ON s.id = r.shot_id",
    // Of the last revisions a tenth waits and a tenth is being written.
    "INSERT INTO critique (id, school_id, enrolment_id, submission_id, revision_id, shot_id, student_id, mentor_id, summary, created_at, released_at)
       SELECT gen_random_uuid(), u.school_id, u.enrolment_id, u.id, u.revision_id, u.shot_id, u.student_id, e.mentor_id, 'Nearly there.', u.sent_at,
         CASE WHEN NOT last OR dice > 0.2 THEN least(u.sent_at + interval '3 days', now() - interval '1 minute') END
       FROM (SELECT u.*, r.number = max(r.number) OVER (PARTITION BY u.shot_id) AS last, random() AS dice FROM submission u JOIN revision r ON r.id = u.revision_id) u
       JOIN enrolment e ON e.id = u.enrolment_id WHERE NOT last OR dice > 0.1",
    "UPDATE submission u SET opened_at = c.created_at FROM critique c WHERE c.submission_id = u.id",
    "INSERT INTO concern SELECT gen_random_uuid(), c.school_id, c.shot_id, c.student_id, c.id, c.created_at
       FROM critique c JOIN revision r ON r.id = c.revision_id, generate_series(1, 6) n WHERE r.number = 1 OR n <= 3",
    "INSERT INTO note (id, school_id, critique_id, concern_id, revision_id, shot_id, student_id, kind, urgency, principles, parts, span_start, span_end, region,
         words, created_at, updated_at)
       SELECT gen_random_uuid(), c.school_id, c.id, k.id, c.revision_id, c.shot_id, c.student_id, (ARRAY['fix', 'fix', 'consider', 'keep'])[1 + (random() * 3)::int],
         'should', ARRAY[(ARRAY['spacing', 'timing', 'arcs', 'overlap'])[1 + (random() * 3)::int]], '[{\"part\": \"wrist\", \"side\": \"left\"}]', f, f + 12,
         '{\"x\": 0.2, \"y\": 0.2, \"w\": 0.2, \"h\": 0.2}',
         (ARRAY['The wrist jumps over one frame', 'The heel creeps while it carries the weight', 'Settle two frames sooner', 'The arc of the hand has a corner',
           'Hold the look three frames longer'])[1 + (random() * 4)::int] || ', at ' || f || ' as before; give it ' || (random() * 9)::int || ' more.',
         c.created_at, c.created_at
       FROM concern k JOIN critique c ON c.id = k.critique_id, LATERAL (SELECT (random() * 220 + length(k.id::text) * 0)::int AS f) f",
    // In later critiques some earlier concerns are judged, some named again.
    "INSERT INTO verdict SELECT c.id, k.id, c.school_id, c.shot_id, (ARRAY['still', 'eased', 'cleared', 'cleared'])[1 + (random() * 3)::int], 1, c.created_at
       FROM concern k JOIN critique kc ON kc.id = k.critique_id JOIN revision kr ON kr.id = kc.revision_id
       JOIN critique c ON c.shot_id = k.shot_id JOIN revision r ON r.id = c.revision_id AND r.number > kr.number WHERE random() < 0.6",
    "INSERT INTO answer (note_id, school_id, critique_id, student_id, kind, words, updated_at, mentor_id)
       SELECT n.id, n.school_id, n.critique_id, n.student_id, 'will-do', 'Two frames more.', n.updated_at, c.mentor_id
       FROM note n JOIN critique c ON c.id = n.critique_id AND c.released_at IS NOT NULL WHERE random() < 0.3",
    "INSERT INTO stroke SELECT gen_random_uuid(), n.school_id, n.critique_id, n.id, n.span_start, n.span_end, '#aa3311', 0.01, true,
         (SELECT jsonb_agg(jsonb_build_array(0.1 + k * 0.004, 0.3 + k * 0.002, 0.5)) FROM generate_series(1, 60) k), n.created_at
       FROM note n WHERE random() < 0.4",
    "INSERT INTO quota_entry (id, school_id, enrolment_id, kind, amount, actor_id, created_at)
       SELECT gen_random_uuid(), school_id, id, 'grant', 40, mentor_id, created_at FROM enrolment",
    "INSERT INTO quota_entry (id, school_id, enrolment_id, kind, amount, submission_id, actor_id, created_at)
       SELECT gen_random_uuid(), school_id, enrolment_id, 'spend', -1, id, student_id, sent_at FROM submission",
    "UPDATE enrolment e SET remaining = (SELECT sum(amount) FROM quota_entry q WHERE q.enrolment_id = e.id)",
    "INSERT INTO mail (id, school_id, person_id, kind, about, message_id, recipient, subject, body, state, created_at)
       SELECT gen_random_uuid(), school_id, student_id, kind, id, kind || id, 'somebody@big.example', 'Sent', convert_to(repeat('word ', 400), 'UTF8'), 'sent', sent_at
       FROM submission, (VALUES ('confirmation'), ('critique')) k (kind)",
    "INSERT INTO job (school_id, person_id, kind, key, payload, state, run_at, max_attempts)
       SELECT school_id, person_id, 'send-mail', id::text, '{}', 'done', created_at, 12 FROM mail",
    "INSERT INTO feed SELECT school_id, 'note', id, pg_current_xact_id()::text::bigint FROM note
       UNION ALL SELECT school_id, 'answer', note_id, pg_current_xact_id()::text::bigint FROM answer",
    "SELECT pg_notify('feed', '')",
];
