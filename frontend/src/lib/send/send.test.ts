import { describe, expect, it } from 'vitest';
import { emptyDraft, loadDraft, withoutFile } from './draft';
import { sizeWords } from './sizes';

describe('draft', () => {
  it('takes a new key with another file, and keeps the words', () => {
    const draft = { ...emptyDraft(), words: 'Look at the settle.', footage_id: 'f', upload_id: 'u' };
    const again = withoutFile(draft);
    expect(again.key).not.toBe(draft.key);
    expect(again).toMatchObject({ words: 'Look at the settle.', footage_id: null, upload_id: null });
  });
  it('begins anew where nothing can be kept', () => {
    expect(loadDraft('someone').shot_id).toBeNull();
  });
  // RFC 9562, 5.4: version 4 in the 13th digit, variant 8 to b in the 17th.
  it('makes keys that are UUIDs of version 4', () => {
    for (let i = 0; i < 50; i++)
      expect(emptyDraft().key).toMatch(/^[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  });
});

it('writes sizes in powers of 1024 (IEC 80000-13)', () => {
  expect([512, 1536, 20 * 1024 ** 2, 2 * 1024 ** 3].map(sizeWords)).toEqual([
    '512 bytes',
    '1.5 KiB',
    '20 MiB',
    '2.0 GiB',
  ]);
});
