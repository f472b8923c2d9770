import type { ArchiveQuery, Kind, Principle } from '$lib/api';

/** The search an address asks for. */
export function queryOf(search: URLSearchParams): ArchiveQuery {
  const read = (name: string) => search.get(name) || undefined;
  return {
    q: read('q'),
    principle: read('principle') as Principle | undefined,
    part: read('part'),
    kind: read('kind') as Kind | undefined,
    student: read('student'),
    shot: read('shot'),
    from: read('from'),
    to: read('to'),
  };
}
