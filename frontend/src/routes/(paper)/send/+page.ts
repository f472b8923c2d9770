import { all, client, ok } from '$lib/api';

export async function load() {
  const [shots, enrolments, courses] = await Promise.all([
    all((cursor) => ok(client.GET('/shots', { params: { query: { cursor } } }))),
    all((cursor) => ok(client.GET('/enrolments', { params: { query: { cursor } } }))),
    all((cursor) => ok(client.GET('/courses', { params: { query: { cursor } } }))),
  ]);
  return { shots, enrolments, courses };
}
