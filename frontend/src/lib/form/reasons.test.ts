import { expect, test } from 'vitest';
import { sentences } from './reasons';

test('reason and remedy are two sentences, however the reason ends', () => {
  expect(sentences({ reason: 'is not a day', remedy: 'As in 2026-11-25.' })).toBe('is not a day. As in 2026-11-25.');
  expect(sentences({ reason: 'It is cut off.', remedy: 'Export it again.' })).toBe('It is cut off. Export it again.');
  expect(sentences({ reason: 'is empty' })).toBe('is empty');
  expect(sentences({ reason: 'is empty', remedy: null })).toBe('is empty');
});
