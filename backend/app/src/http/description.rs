//! The API's description (OpenAPI 3.1). Each operation describes itself; what holds for all of them is said here.

use actix_web::App;
use utoipa::OpenApi;
use utoipa::openapi::path::{Operation, Parameter, ParameterBuilder, ParameterIn, PathItem};
use utoipa::openapi::schema::{KnownFormat, ObjectBuilder, SchemaFormat, Type};
use utoipa::openapi::{ContentBuilder, Ref, RefOr, Required, ResponseBuilder};
use utoipa_actix_web::{AppExt, scope};

use super::{problem, resources};

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

/// The API's description: what `/api/openapi.json` answers and what is checked in.
#[must_use]
pub fn description() -> utoipa::openapi::OpenApi {
    let (_, mut api) = App::new()
        .into_utoipa_app()
        .openapi(Description::openapi())
        .service(scope("/api/v1").configure(resources))
        .split_for_parts();
    with_problems(&mut api);
    with_ids(&mut api);
    api
}

/// The operations of one path.
fn operations(item: &mut PathItem) -> impl Iterator<Item = &mut Operation> {
    [
        &mut item.get,
        &mut item.post,
        &mut item.put,
        &mut item.patch,
        &mut item.delete,
        &mut item.head,
        &mut item.options,
    ]
    .into_iter()
    .flatten()
}

/// Every operation may end in a problem; said once, here.
fn with_problems(api: &mut utoipa::openapi::OpenApi) {
    for operation in api.paths.paths.values_mut().flat_map(operations) {
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

/// A name in a path stands for an id, unless the operation says otherwise.
fn with_ids(api: &mut utoipa::openapi::OpenApi) {
    for (path, item) in &mut api.paths.paths {
        for name in path.split('/').filter_map(placeholder) {
            for operation in operations(item) {
                let known = operation.parameters.get_or_insert_default();
                let described = |p: &RefOr<Parameter>| matches!(p, RefOr::T(p) if p.name == name);
                if !known.iter().any(described) {
                    known.push(RefOr::T(id_parameter(name)));
                }
            }
        }
    }
}

/// `id` of `{id}`.
fn placeholder(segment: &str) -> Option<&str> {
    segment.strip_prefix('{')?.strip_suffix('}')
}

fn id_parameter(name: &str) -> Parameter {
    let uuid = ObjectBuilder::new()
        .schema_type(Type::String)
        .format(Some(SchemaFormat::KnownFormat(KnownFormat::Uuid)))
        .build();
    ParameterBuilder::new()
        .name(name)
        .parameter_in(ParameterIn::Path)
        .required(Required::True)
        .schema(Some(uuid))
        .build()
}
