import { client, ok } from '$lib/api';

export async function load({ depends }) {
  depends('refrain:desk');
  return { rows: await ok(client.GET('/desk', { params: { query: { limit: 100 } } })) };
}
