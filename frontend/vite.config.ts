import { sveltekit } from '@sveltejs/kit/vite';
import { defineConfig } from 'vitest/config';

export default defineConfig({
  plugins: [sveltekit()],
  server: { proxy: { '/api': process.env.REFRAIN_API ?? 'http://127.0.0.1:8080' } },
  test: { include: ['src/**/*.test.ts'], environment: 'node' },
});
