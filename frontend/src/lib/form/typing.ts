import { beforeNavigate } from '$app/navigation';
import { onDestroy } from 'svelte';

/**
 * Does something with what was typed once typing rests that long; to be called while a component is made.
 * When the component goes, or the page is about to be left, what still waits is dropped: nobody is pulled back.
 */
export function onceTyped(restMs: number, act: (typed: string) => void): (typed: string) => void {
  let waiting: ReturnType<typeof setTimeout> | undefined;
  onDestroy(() => clearTimeout(waiting));
  beforeNavigate(({ from, to }) => {
    if (from?.route.id !== to?.route.id) clearTimeout(waiting);
  });
  return (typed) => {
    clearTimeout(waiting);
    waiting = setTimeout(() => act(typed), restMs);
  };
}
