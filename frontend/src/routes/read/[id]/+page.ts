import { redirect } from '@sveltejs/kit';
import { client, ok } from '$lib/api';
import { requireMe } from '$lib/session';

export async function load({ url, params }) {
  const me = await requireMe(url);
  const page = await ok(client.GET('/critiques/{id}', { params: { path: { id: params.id } } }));
  if (page.mentor.id === me.id) redirect(307, `/critique/${params.id}${url.search}`);
  return { me, page };
}
