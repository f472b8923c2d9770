//! Requests and answers. One folder a resource, one file a verb; a route reads top to bottom: who, input, one store call or two, answer.

pub mod archive;
pub mod courses;
pub mod critiques;
pub mod desk;
pub mod enrolments;
pub mod footage;
pub mod guard;
pub mod health;
pub mod input;
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
pub mod uploads;
pub mod vocabulary;
pub mod who;

use std::net::TcpListener;

use actix_web::dev::Server;
use actix_web::middleware::{Compress, from_fn};
use actix_web::web::{self, Data};
use actix_web::{App, HttpResponse, HttpServer};
use tracing_actix_web::TracingLogger;
use utoipa::OpenApi;
use utoipa_actix_web::service_config::ServiceConfig;
use utoipa_actix_web::{AppExt, scope};

use crate::housekeeping::keep_house;
use crate::state::State;
use crate::telemetry::observe;

/// The general part of the API's description; the operations add themselves.
#[derive(OpenApi)]
#[openapi(
    info(
        title = "Refrain",
        description = "Submissions, critiques and what recurs in them.",
        version = "1"
    ),
    components(schemas(problem::ProblemBody, problem::FieldError))
)]
struct Description;

/// Every resource of the API.
fn resources(api: &mut ServiceConfig) {
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
    api.configure(notes::configure);
    api.configure(refrain::configure);
}

/// The API's description: what `/api/openapi.json` answers and what is checked in.
#[must_use]
pub fn description() -> utoipa::openapi::OpenApi {
    let (_, mut api) = App::new()
        .into_utoipa_app()
        .openapi(Description::openapi())
        .service(scope("/api/v1").configure(resources))
        .split_for_parts();
    with_problems(&mut api);
    api
}

/// Every operation may end in a problem; said once, here.
fn with_problems(api: &mut utoipa::openapi::OpenApi) {
    use utoipa::openapi::{ContentBuilder, Ref, RefOr, ResponseBuilder};
    for item in api.paths.paths.values_mut() {
        let operations = [
            &mut item.get,
            &mut item.post,
            &mut item.put,
            &mut item.patch,
            &mut item.delete,
            &mut item.head,
            &mut item.options,
        ];
        for operation in operations.into_iter().flatten() {
            let problem = ResponseBuilder::new()
                .description("A problem (RFC 9457)")
                .content(
                    "application/problem+json",
                    ContentBuilder::new()
                        .schema(Some(Ref::from_schema_name("Problem")))
                        .build(),
                )
                .build();
            operation
                .responses
                .responses
                .insert("default".into(), RefOr::T(problem));
        }
    }
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
                    .configure(resources),
            )
            .into_app()
            .configure(health::configure)
            .route("/api/openapi.json", web::get().to(openapi_json))
            .default_service(web::route().to(site::serve))
            .wrap(Compress::default())
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
