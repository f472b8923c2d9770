import { all, client, ok, type Named } from '$lib/api';

/** The students a mentor may narrow the search to, each once. */
async function studentsOfMentor(): Promise<Named[]> {
  const enrolments = await all((cursor) => ok(client.GET('/enrolments', { params: { query: { cursor } } })));
  const byId = new Map(enrolments.map(({ student }) => [student.id, student]));
  return [...byId.values()].sort((a, b) => a.name.localeCompare(b.name));
}

export async function load({ parent }) {
  const { me } = await parent();
  const mentor = me.roles.includes('mentor');
  const [vocabulary, students, shots] = await Promise.all([
    ok(client.GET('/vocabulary')),
    mentor ? studentsOfMentor() : [],
    mentor ? [] : all((cursor) => ok(client.GET('/shots', { params: { query: { cursor } } }))),
  ]);
  return { mentor, parts: vocabulary.parts, students, shots };
}
