//! Conventions that the database's own catalogue can be asked about.

use tests::harness::cluster::{aside, cluster, connect};

/// The first column of every row, as text.
fn ask(sql: &str) -> Vec<String> {
    let database = cluster().database();
    aside(|| {
        connect(&database.owner_url)
            .query(sql, &[])
            .unwrap_or_else(|e| panic!("{sql}: {e:?}"))
            .iter()
            .map(|row| row.get(0))
            .collect()
    })
}

#[test]
fn every_table_is_secured_by_row_even_against_its_owner() {
    let tables = ask(
        "SELECT relname::text FROM pg_class WHERE relkind IN ('r', 'p') AND relnamespace = 'public'::regnamespace",
    );
    assert!(tables.len() > 20, "{tables:?}");
    let open = ask(
        "SELECT relname::text FROM pg_class WHERE relkind IN ('r', 'p') AND relnamespace = 'public'::regnamespace
         AND relname <> '__diesel_schema_migrations' AND NOT (relrowsecurity AND relforcerowsecurity)",
    );
    assert_eq!(open, [""; 0]);
}

#[test]
fn every_view_asks_with_the_rights_of_the_asker() {
    let open = ask(
        "SELECT relname::text FROM pg_class WHERE relkind = 'v' AND relnamespace = 'public'::regnamespace
         AND NOT coalesce('security_invoker=true' = ANY (reloptions), false)",
    );
    assert_eq!(open, [""; 0]);
}

#[test]
fn no_role_of_the_program_can_pass_the_policies() {
    let roles = ask(
        "SELECT rolname::text FROM pg_roles WHERE rolname IN ('refrain_ddl', 'refrain_app', 'refrain_definer') ORDER BY 1",
    );
    assert_eq!(roles, ["refrain_app", "refrain_ddl", "refrain_definer"]);
    let mighty = ask(
        "SELECT rolname::text FROM pg_roles WHERE rolname IN ('refrain_ddl', 'refrain_app', 'refrain_definer')
         AND (rolsuper OR rolbypassrls OR rolcreaterole OR rolcreatedb)",
    );
    assert_eq!(mighty, [""; 0]);
    let members = ask(
        "SELECT m.rolname::text FROM pg_auth_members a JOIN pg_roles m ON m.oid = a.member
         WHERE m.rolname = 'refrain_app'",
    );
    assert_eq!(
        members, [""; 0],
        "the program's role is a member of another"
    );
}

#[test]
fn functions_that_look_across_people_fix_their_search_path_and_are_not_everybodys() {
    let doors = ask(
        "SELECT proname::text FROM pg_proc WHERE prosecdef AND pronamespace = 'public'::regnamespace",
    );
    assert!(doors.iter().any(|d| d == "claim_job"), "{doors:?}");
    let loose = ask(
        "SELECT p.proname::text FROM pg_proc p WHERE p.prosecdef AND p.pronamespace = 'public'::regnamespace
         AND (NOT EXISTS (SELECT FROM unnest(p.proconfig) c WHERE c LIKE 'search_path=pg_catalog%')
           OR p.proowner <> 'refrain_definer'::regrole
           OR EXISTS (SELECT FROM aclexplode(coalesce(p.proacl, acldefault('f', p.proowner))) a WHERE a.grantee = 0))",
    );
    assert_eq!(loose, [""; 0]);
}

#[test]
fn a_reference_cannot_reach_into_another_school() {
    // Foreign keys are not subject to policies, so each has to carry the school itself.
    let across = ask(
        "SELECT conrelid::regclass || ' ' || conname FROM pg_constraint c
         WHERE contype = 'f' AND connamespace = 'public'::regnamespace AND confrelid <> 'school'::regclass
         AND NOT EXISTS (SELECT FROM pg_attribute a WHERE a.attrelid = c.conrelid AND a.attnum = ANY (c.conkey) AND a.attname = 'school_id')",
    );
    assert_eq!(across, [""; 0]);
}

#[test]
fn nothing_is_seen_without_a_scope() {
    let database = cluster().database();
    aside(|| {
        let mut owner = connect(&database.owner_url);
        owner
            .batch_execute(
                "INSERT INTO school (id, slug, name, time_zone, created_at)
                 VALUES ('00000000-0000-0000-0000-000000000001', 'yard', 'Yard', 'UTC', now())",
            )
            .expect("a school");
        let mut app = connect(&database.app_url);
        let seen: i64 = app
            .query_one("SELECT count(*) FROM school", &[])
            .expect("a count")
            .get(0);
        assert_eq!(seen, 0);
        let inside =
            "SELECT set_config('app.school', '00000000-0000-0000-0000-000000000001', true)";
        let mut transaction = app.transaction().expect("a transaction");
        transaction.execute(inside, &[]).expect("a scope");
        let seen: i64 = transaction
            .query_one("SELECT count(*) FROM school", &[])
            .expect("a count")
            .get(0);
        assert_eq!(seen, 1);
        transaction.commit().expect("a commit");
        let seen: i64 = app
            .query_one("SELECT count(*) FROM school", &[])
            .expect("a count")
            .get(0);
        assert_eq!(seen, 0, "the scope outlived its transaction");
    });
}
