import { redirect } from '@sveltejs/kit';
import { all, client, ok } from '$lib/api';

export async function load({ url, parent }) {
  const { me } = await parent();
  const student = url.searchParams.get('student') ?? undefined;
  if (!student && !me.roles.includes('student')) redirect(307, '/roster');
  const [shots, habits, enrolments] = await Promise.all([
    all((cursor) => ok(client.GET('/refrain', { params: { query: { student, cursor } } }))),
    ok(client.GET('/refrain/habits', { params: { query: { student } } })),
    student ? ok(client.GET('/enrolments', { params: { query: { student, limit: 1 } } })) : null,
  ]);
  const asked = shots.find((s) => s.shot.id === url.searchParams.get('shot'));
  // Unasked, the page opens on the latest shot that has something to show.
  const shot = asked ?? shots.find((s) => s.groups.length > 0) ?? shots.at(0) ?? null;
  const plan = shot && (await ok(client.GET('/shots/{id}/plan', { params: { path: { id: shot.shot.id } } })));
  return {
    student: student ?? null,
    studentName: enrolments?.items.at(0)?.student.name ?? null,
    shots,
    shot,
    habits,
    plan,
  };
}
