import { defineConfig } from '@playwright/test';

// ops/browser starts the program and says where it answers and where its mails and files lie.
export default defineConfig({
  testDir: 'e2e',
  testMatch: '**/*.spec.ts',
  outputDir: process.env.REFRAIN_BROWSER_OUTPUT ?? 'test-results',
  timeout: 180_000,
  // Files side by side: they wait more than they compute.
  workers: 3,
  retries: 0,
  forbidOnly: !!process.env.CI,
  reporter: 'list',
  // A busy machine answers late; it is not wrong for that.
  expect: { timeout: 15_000 },
  use: {
    actionTimeout: 30_000,
    navigationTimeout: 30_000,
    baseURL: process.env.REFRAIN_URL ?? 'http://127.0.0.1:8080',
    locale: 'en-GB',
    timezoneId: 'Europe/Vienna',
    screenshot: 'only-on-failure',
    launchOptions: {
      executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium-headless-shell',
      args: [
        // Chromium refuses its own sandbox to root, which is who runs continuous integration.
        ...(process.getuid?.() === 0 ? ['--no-sandbox'] : []),
        // A name that leads here but is not trusted as localhost is.
        '--host-resolver-rules=MAP refrain.example 127.0.0.1',
      ],
    },
  },
});
