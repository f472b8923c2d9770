/** An address with those of the values that are not empty as its query. */
export function withQuery(path: string, values: Record<string, string | null | undefined>): string {
  const search = new URLSearchParams();
  for (const [name, value] of Object.entries(values)) if (value) search.set(name, value);
  const query = search.toString();
  return query ? `${path}?${query}` : path;
}
