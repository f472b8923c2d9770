/** One thing a person set off: whether it runs, and what it failed with. */
export class Task {
  busy = $state(false);
  failure = $state<unknown>(null);

  /** Runs `work` unless the last run still goes; true when it came through. */
  async run(work: () => Promise<void>): Promise<boolean> {
    if (this.busy) return false;
    this.busy = true;
    this.failure = null;
    try {
      await work();
      return true;
    } catch (failure) {
      this.failure = failure;
      return false;
    } finally {
      this.busy = false;
    }
  }
}
