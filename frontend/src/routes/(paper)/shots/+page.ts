import { all, client, ok } from '$lib/api';

export async function load({ depends }) {
  depends('refrain:shots');
  const [shots, enrolments] = await Promise.all([
    all((cursor) => ok(client.GET('/shots', { params: { query: { cursor } } }))),
    all((cursor) => ok(client.GET('/enrolments', { params: { query: { cursor } } }))),
  ]);
  return { shots, enrolments };
}
