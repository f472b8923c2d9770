import { redirect } from '@sveltejs/kit';
import { client, ok, ProblemError } from '$lib/api';
import { homeOf, safeReturn, session } from '$lib/session';

export async function load({ params, url }) {
  const me = session.me ?? (await session.load());
  if (me?.school.slug === params.school) redirect(307, safeReturn(url.searchParams.get('to')) ?? homeOf(me.roles));
  const school = await ok(client.GET('/schools/{slug}', { params: { path: { slug: params.school } } })).catch(
    (failure: unknown) => {
      if (failure instanceof ProblemError && failure.code === 'not-found') return null;
      throw failure;
    },
  );
  return { slug: params.school, school };
}
