import { redirect } from '@sveltejs/kit';
import { client, ok } from '$lib/api';
import { requireMe } from '$lib/session';

export async function load({ url, params }) {
  const me = await requireMe(url);
  const [page, vocabulary] = await Promise.all([
    ok(client.GET('/critiques/{id}', { params: { path: { id: params.id } } })),
    ok(client.GET('/vocabulary')),
  ]);
  if (page.student.id === me.id) redirect(307, `/read/${params.id}${url.search}`);
  return { me, page, vocabulary };
}
