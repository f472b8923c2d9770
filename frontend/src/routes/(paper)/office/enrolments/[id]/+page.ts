import { error } from '@sveltejs/kit';
import { all, client, ok } from '$lib/api';

export async function load({ params, url, depends }) {
  depends('refrain:enrolment');
  const id = params.id;
  const student = url.searchParams.get('student') ?? undefined;
  const [enrolments, entries, mentors] = await Promise.all([
    all((cursor) => ok(client.GET('/enrolments', { params: { query: { student, cursor } } }))),
    all((cursor) => ok(client.GET('/enrolments/{id}/quota-entries', { params: { path: { id }, query: { cursor } } }))),
    all((cursor) => ok(client.GET('/persons', { params: { query: { role: 'mentor', cursor } } }))),
  ]);
  const enrolment = enrolments.find((e) => e.id === id);
  if (!enrolment) error(404, 'No such enrolment');
  return { enrolment, entries, mentors };
}
