import { client, ok, type Role } from '$lib/api';

export async function load({ url, depends }) {
  depends('refrain:persons');
  const query = {
    q: url.searchParams.get('q') || undefined,
    role: (url.searchParams.get('role') || undefined) as Role | undefined,
  };
  return { query, persons: await ok(client.GET('/persons', { params: { query } })) };
}
