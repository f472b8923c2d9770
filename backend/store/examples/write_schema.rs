//! Writes `src/schema.rs` from a database made by the migrations: `cargo run -p store --example write_schema -- ADMIN_URL DDL_URL DATABASE`.
//! The database is brought up to date first.

use std::error::Error;

#[tokio::main]
async fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [admin, ddl, database] = args.as_slice() else {
        return Err("ADMIN_URL DDL_URL DATABASE".into());
    };
    let (admin_url, database) = (admin.clone(), database.clone());
    tokio::task::spawn_blocking(move || -> Result<(), Box<dyn Error + Send + Sync>> {
        let mut admin = postgres::Client::connect(&admin_url, postgres::NoTls)?;
        store::prepare_database::ensure_roles(&mut admin, &database)?;
        store::prepare_database::ensure_schema(&mut admin)?;
        Ok(())
    })
    .await?
    .map_err(|e| e.to_string())?;
    store::prepare_database::migrate(ddl).await?;
    let ddl = ddl.clone();
    let text = tokio::task::spawn_blocking(move || -> Result<String, postgres::Error> {
        store::schema_text::schema_text(&mut postgres::Client::connect(&ddl, postgres::NoTls)?)
    })
    .await??;
    std::fs::write(concat!(env!("CARGO_MANIFEST_DIR"), "/src/schema.rs"), text)?;
    Ok(())
}
