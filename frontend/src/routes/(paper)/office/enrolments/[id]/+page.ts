import { all, client, ok } from '$lib/api';

export async function load({ params, depends }) {
  depends('refrain:enrolment');
  const path = { id: params.id };
  const [enrolment, entries, mentors] = await Promise.all([
    ok(client.GET('/enrolments/{id}', { params: { path } })),
    all((cursor) => ok(client.GET('/enrolments/{id}/quota-entries', { params: { path, query: { cursor } } }))),
    all((cursor) => ok(client.GET('/persons', { params: { query: { role: 'mentor', cursor } } }))),
  ]);
  return { enrolment, entries, mentors };
}
