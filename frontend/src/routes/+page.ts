import { redirect } from '@sveltejs/kit';
import { homeOf, lastSchool, session } from '$lib/session';

export async function load({ url }) {
  const me = session.me ?? (await session.load());
  if (me) redirect(307, homeOf(me.roles));
  const school = lastSchool();
  if (school) redirect(307, `/in/${encodeURIComponent(school)}${url.search}`);
}
