import { all, client, ok } from '$lib/api';

export async function load() {
  const [courses, mentors] = await Promise.all([
    all((cursor) => ok(client.GET('/courses', { params: { query: { cursor } } }))),
    all((cursor) => ok(client.GET('/persons', { params: { query: { role: 'mentor', cursor } } }))),
  ]);
  return { courses, mentors };
}
