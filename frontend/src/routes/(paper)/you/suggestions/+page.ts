import { redirect } from '@sveltejs/kit';
import { client, ok } from '$lib/api';

export async function load({ parent }) {
  const { me } = await parent();
  if (!me.roles.includes('mentor')) redirect(307, '/you');
  return { taken: await ok(client.GET('/suggestions')) };
}
