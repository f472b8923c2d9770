import { all, client, ok } from '$lib/api';

export async function load({ url, parent, depends }) {
  depends('refrain:roster');
  const { me } = await parent();
  const query = {
    q: url.searchParams.get('q') || undefined,
    course: url.searchParams.get('course') || undefined,
    mentor: url.searchParams.get('mentor') || undefined,
  };
  const office = me.roles.includes('office');
  const [enrolments, courses, mentors] = await Promise.all([
    ok(client.GET('/enrolments', { params: { query } })),
    all((cursor) => ok(client.GET('/courses', { params: { query: { cursor } } }))),
    office ? all((cursor) => ok(client.GET('/persons', { params: { query: { role: 'mentor', cursor } } }))) : [],
  ]);
  return { office, query, enrolments, courses, mentors };
}
