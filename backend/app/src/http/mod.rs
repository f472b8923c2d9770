//! Requests and answers. One folder a resource, one file a verb; a route reads top to bottom: who, input, one store call or two, answer.

pub mod archive;
pub mod courses;
pub mod critiques;
mod description;
pub mod desk;
pub mod enrolments;
pub mod footage;
pub mod guard;
pub mod health;
pub mod input;
pub mod lexicon;
pub mod links;
pub mod me;
pub mod notes;
pub mod page;
pub mod persons;
pub mod problem;
pub mod refrain;
pub mod resets;
pub mod schools;
pub mod sessions;
pub mod shots;
pub mod site;
pub mod submissions;
pub mod suggestions;
pub mod uploads;
pub mod vocabulary;
pub mod who;

use std::net::TcpListener;

use actix_web::dev::Server;
use actix_web::middleware::{Compress, from_fn};
use actix_web::web::{self, Data};
use actix_web::{App, HttpResponse, HttpServer};
use tracing_actix_web::TracingLogger;
use utoipa_actix_web::service_config::ServiceConfig;
use utoipa_actix_web::{AppExt, scope};

pub use description::description;

use crate::housekeeping::keep_house;
use crate::state::State;
use crate::telemetry::observe;

/// The API. Footage is compressed already and is asked for by range: its bytes leave as they lie, all else leaves compressed.
fn resources(api: &mut ServiceConfig) {
    api.configure(footage::configure_files)
        .service(scope("").wrap(Compress::default()).configure(described));
}

/// Every resource that answers with words.
fn described(api: &mut ServiceConfig) {
    api.configure(archive::configure);
    api.configure(vocabulary::configure);
    api.configure(schools::configure);
    api.configure(sessions::configure);
    api.configure(me::configure);
    api.configure(links::configure);
    api.configure(resets::configure);
    api.configure(persons::configure);
    api.configure(courses::configure);
    api.configure(enrolments::configure);
    api.configure(uploads::configure);
    api.configure(footage::configure);
    api.configure(shots::configure);
    api.configure(submissions::configure);
    api.configure(desk::configure);
    api.configure(critiques::configure);
    api.configure(suggestions::configure);
    api.configure(notes::configure);
    api.configure(refrain::configure);
    api.configure(lexicon::configure);
}

/// The server on `listener`, not yet running.
///
/// # Errors
/// If the system refuses the socket.
pub fn server(state: State, listener: TcpListener) -> std::io::Result<Server> {
    let threads = state.config.server.threads;
    actix_web::rt::spawn(keep_house(state.clone()));
    let description = Data::new(description().to_json().unwrap_or_default());
    let site = Data::new(site::Site::default());
    Ok(HttpServer::new(move || {
        App::new()
            .into_utoipa_app()
            .app_data(Data::new(state.clone()))
            .app_data(Data::new(state.metrics.clone()))
            .app_data(site.clone())
            .app_data(description.clone())
            .app_data(web::PayloadConfig::new(input::BODY_LIMIT))
            .service(
                scope("/api/v1")
                    .wrap(from_fn(guard::same_site_only))
                    .wrap(from_fn(uploads::speak_protocol))
                    .configure(resources),
            )
            .into_app()
            .configure(health::configure)
            .route(
                "/api/openapi.json",
                web::get().to(openapi_json).wrap(Compress::default()),
            )
            .default_service(web::route().to(site::serve).wrap(Compress::default()))
            .wrap(from_fn(guard::headers))
            .wrap(from_fn(observe))
            .wrap(TracingLogger::default())
    })
    .workers(threads)
    .disable_signals()
    .shutdown_timeout(10)
    .listen(listener)?
    .run())
}

async fn openapi_json(description: Data<String>) -> HttpResponse {
    HttpResponse::Ok()
        .content_type("application/json")
        .body(description.as_ref().clone())
}
