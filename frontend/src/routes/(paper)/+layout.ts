import { requireMe } from '$lib/session';

export async function load({ url }) {
  return { me: await requireMe(url) };
}
