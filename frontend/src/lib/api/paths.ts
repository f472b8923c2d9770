/** The operations below `/api/v1`, in the form `openapi-fetch` reads its types from. */
import type * as C from './contract';

interface Parts {
  path?: object;
  query?: object;
  header?: object;
  body?: unknown;
}

/** One operation: what it answers, and the parts of its request. */
type Op<T, P extends Parts = Record<never, never>> = {
  parameters: {
    cookie?: never;
  } & (P extends { path: infer V } ? { path: V } : { path?: never }) &
    (P extends { query: infer V } ? { query?: V } : { query?: never }) &
    (P extends { header: infer V } ? { header: V } : { header?: never });
  responses: {
    200: { content: { 'application/json': T } };
    default: { content: { 'application/problem+json': C.Problem } };
  };
} & (P extends { body: infer B } ? { requestBody: { content: { 'application/json': B } } } : { requestBody?: never });

/** A request body that is a CSV file. */
interface CsvOp<T> {
  parameters: { query?: never; path?: never; header?: never; cookie?: never };
  requestBody: { content: { 'text/csv': string } };
  responses: {
    200: { content: { 'application/json': T } };
    default: { content: { 'application/problem+json': C.Problem } };
  };
}

interface Paging {
  limit?: number;
  cursor?: string;
}

interface ById {
  path: { id: string };
}

export interface paths {
  '/vocabulary': { get: Op<C.Vocabulary> };
  '/schools/{slug}': { get: Op<C.School, { path: { slug: string } }> };
  '/sessions': { post: Op<C.Me, { body: C.SignIn }>; delete: Op<never> };
  '/sessions/current': { delete: Op<never> };
  '/me': { get: Op<C.Me>; patch: Op<C.Me, { body: { name?: string } }> };
  '/me/preferences': { put: Op<C.Me, { body: C.Preferences }> };
  '/password-resets': { post: Op<never, { body: { school: string; email: string } }> };
  '/access-links/{token}': {
    get: Op<C.AccessLink, { path: { token: string } }>;
    post: Op<C.Me, { path: { token: string }; body: { password: string } }>;
  };

  '/persons': {
    get: Op<C.Page<C.Person>, { query: Paging & { role?: C.Role; q?: string } }>;
    post: Op<C.Person, { body: C.NewPerson }>;
  };
  '/persons/{id}': { patch: Op<C.Person, ById & { body: { name?: string; email?: string } }> };
  '/persons/{id}/invitations': { post: Op<never, ById> };

  '/courses': { get: Op<C.Page<C.Course>, { query: Paging }>; post: Op<C.Course, { body: C.NewCourse }> };
  '/courses/{id}': { patch: Op<C.Course, ById & { body: Partial<C.NewCourse> }> };
  '/courses/{id}/assignments': { post: Op<C.Assignment, ById & { body: C.NewAssignment }> };
  '/assignments/{id}': { patch: Op<C.Assignment, ById & { body: Partial<C.NewAssignment> }> };

  '/enrolments': {
    get: Op<
      C.Page<C.Enrolment>,
      { query: Paging & { course?: string; mentor?: string; student?: string; q?: string } }
    >;
    post: Op<C.Enrolment, { body: C.NewEnrolment }>;
  };
  '/enrolments/{id}': { get: Op<C.Enrolment, ById>; patch: Op<C.Enrolment, ById & { body: { mentor_id: string } }> };
  '/enrolments/preview': { post: CsvOp<C.CsvPreview> };
  '/enrolments/import': { post: CsvOp<C.CsvResult> };
  '/enrolments/{id}/quota-entries': {
    get: Op<C.Page<C.QuotaEntry>, ById & { query: Paging }>;
    post: Op<C.Enrolment, ById & { body: { amount: number; reason: string } }>;
  };
  '/enrolments/quota-mails': { post: Op<{ mailed: number }, { body: { enrolment_ids: string[] | null } }> };

  '/uploads/{id}': { get: Op<C.Upload, ById> };
  '/footage/{id}': { get: Op<C.Footage, ById>; delete: Op<never, ById> };
  '/footage/{id}/prepare': { post: Op<never, ById> };

  '/shots': {
    get: Op<C.Page<C.ShotSummary>, { query: Paging & { student?: string } }>;
    post: Op<C.Shot, { body: C.NewShot }>;
  };
  '/shots/{id}': {
    get: Op<C.Shot, ById>;
    patch: Op<C.Shot, ById & { body: { title?: string; first_frame?: number } }>;
  };
  '/shots/{id}/refrain': { get: Op<C.RefrainShot, ById> };
  '/submissions': {
    post: Op<C.Submission, { header: { 'Idempotency-Key': string }; body: C.NewSubmission }>;
  };
  '/submissions/{id}/withdraw': { post: Op<C.Submission, ById> };
  '/submissions/{id}/open': { post: Op<{ critique_id: string }, ById> };

  '/desk': { get: Op<C.Page<C.DeskRow>, { query: Paging }> };
  '/critiques/{id}': { get: Op<C.CritiquePage, ById> };
  '/critiques/{id}/notes/{note_id}': {
    put: Op<C.Note, { path: { id: string; note_id: string }; body: C.NoteDraft }>;
    delete: Op<never, { path: { id: string; note_id: string }; query: { version: number } }>;
  };
  '/critiques/{id}/verdicts/{concern_id}': {
    put: Op<
      C.CarriedConcern,
      { path: { id: string; concern_id: string }; body: { version: number; verdict: C.Verdict | null } }
    >;
  };
  '/critiques/{id}/strokes/{stroke_id}': {
    put: Op<C.Stroke, { path: { id: string; stroke_id: string }; body: C.Stroke }>;
    delete: Op<never, { path: { id: string; stroke_id: string } }>;
  };
  '/critiques/{id}/traces/{trace_id}': {
    put: Op<C.Trace, { path: { id: string; trace_id: string }; body: C.Trace }>;
    delete: Op<never, { path: { id: string; trace_id: string } }>;
  };
  '/critiques/{id}/summary': {
    put: Op<{ version: number }, ById & { body: { version: number; summary: string } }>;
  };
  '/critiques/{id}/release': { post: Op<C.CritiquePage, ById> };
  '/critiques/{id}/take-back': { post: Op<C.CritiquePage, ById> };
  '/critiques/{id}/amendments': {
    post: Op<C.Amendment, ById & { body: { note_id: string | null; words: string } }>;
  };
  '/phrases': { get: Op<{ phrases: string[] }, { query: { q: string } }> };
  '/notes/{id}/answer': { put: Op<C.Answer, ById & { body: { kind: C.AnswerKind; words: string } }> };

  '/refrain': { get: Op<C.Page<C.RefrainShot>, { query: Paging & { student?: string } }> };
  '/archive': {
    get: Op<C.HitPage, { query: C.ArchiveQuery }>;
  };
}
