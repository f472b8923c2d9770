import { client, ok } from '$lib/api';

export async function load({ params, depends }) {
  depends('refrain:shot');
  return { shot: await ok(client.GET('/shots/{id}', { params: { path: { id: params.id } } })) };
}
