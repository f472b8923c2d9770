import type { Page } from '@playwright/test';

/** The page's line to the server: slow, cut, or as it is. */
export interface Line {
  slow(bytesPerSecond: number): Promise<void>;
  cut(): Promise<void>;
  free(): Promise<void>;
}

export async function lineOf(page: Page): Promise<Line> {
  const network = await page.context().newCDPSession(page);
  await network.send('Network.enable');
  const set = async (offline: boolean, uploadThroughput: number): Promise<void> => {
    await network.send('Network.emulateNetworkConditions', {
      offline,
      latency: 0,
      downloadThroughput: -1,
      uploadThroughput,
    });
  };
  return { slow: (rate) => set(false, rate), cut: () => set(true, 0), free: () => set(false, -1) };
}
