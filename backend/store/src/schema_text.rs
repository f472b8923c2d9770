//! Writes `schema.rs` from a migrated database; a test compares it with the one checked in.

use std::fmt::Write;

/// The text of `schema.rs` for the database `client` is connected to: one `table!` per table of ours, by name.
pub fn schema_text(client: &mut postgres::Client) -> Result<String, postgres::Error> {
    let columns = client.query(
        "SELECT c.table_name::text, c.column_name::text, c.udt_name::text, c.is_nullable = 'YES',
           EXISTS (SELECT FROM pg_index i JOIN pg_attribute a ON a.attrelid = i.indrelid AND a.attnum = ANY (i.indkey)
             WHERE i.indisprimary AND i.indrelid = format('%I', c.table_name)::regclass AND a.attname = c.column_name)
         FROM information_schema.columns c JOIN information_schema.tables t USING (table_schema, table_name)
         WHERE c.table_schema = 'public' AND t.table_type = 'BASE TABLE' AND c.table_name NOT LIKE '\\_\\_%'
         ORDER BY c.table_name, c.ordinal_position",
        &[],
    )?;
    let mut text = String::from(
        "//! Made from the migrations; a test fails when it is stale and says how to write it anew.\n#![allow(missing_docs)]\n",
    );
    let mut tables: Vec<String> = Vec::new();
    let mut at = 0;
    while at < columns.len() {
        let table: String = columns[at].get(0);
        let end = at
            + columns[at..]
                .iter()
                .take_while(|row| row.get::<_, &str>(0) == table)
                .count();
        let rows = &columns[at..end];
        let key: Vec<&str> = rows
            .iter()
            .filter(|row| row.get(4))
            .map(|row| row.get(1))
            .collect();
        let _ = writeln!(
            text,
            "\ndiesel::table! {{\n    {table} ({}) {{",
            key.join(", ")
        );
        for row in rows {
            let kind = sql_type(row.get(2));
            let kind = if row.get(3) {
                format!("Nullable<{kind}>")
            } else {
                kind
            };
            let _ = writeln!(text, "        {} -> {kind},", row.get::<_, &str>(1));
        }
        text.push_str("    }\n}\n");
        tables.push(table);
        at = end;
    }
    let _ = writeln!(
        text,
        "\ndiesel::allow_tables_to_appear_in_same_query!(\n    {},\n);",
        tables.join(",\n    ")
    );
    Ok(text)
}

fn sql_type(udt: &str) -> String {
    match udt {
        "uuid" => "Uuid".into(),
        "text" => "Text".into(),
        "int4" => "Integer".into(),
        "int8" => "BigInt".into(),
        "float4" => "Float".into(),
        "float8" => "Double".into(),
        "bool" => "Bool".into(),
        "bytea" => "Binary".into(),
        "jsonb" => "Jsonb".into(),
        "date" => "Date".into(),
        "timestamptz" => "Timestamptz".into(),
        other => match other.strip_prefix('_') {
            Some(inner) => format!("Array<{}>", sql_type(inner)),
            None => format!("Unknown_{other}"),
        },
    }
}
