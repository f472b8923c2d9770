import { all, client, ok } from '$lib/api';

export async function load({ depends }) {
  depends('refrain:courses');
  return { courses: await all((cursor) => ok(client.GET('/courses', { params: { query: { cursor } } }))) };
}
