import { client, ok } from '$lib/api';

export async function load({ depends }) {
  depends('refrain:words');
  const [tables, words] = await Promise.all([ok(client.GET('/lexicon/tables')), ok(client.GET('/lexicon/words'))]);
  return { tables, words: words.items };
}
