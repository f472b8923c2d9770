import { sveltekit } from '@sveltejs/kit/vite';
import { defineConfig } from 'vitest/config';

export default defineConfig({
  plugins: [sveltekit()],
  // The program compares a page's origin with the address it is asked at: the proxy leaves that as the browser sent it.
  server: { proxy: { '/api': { target: process.env.REFRAIN_API ?? 'http://127.0.0.1:8080', changeOrigin: false } } },
  test: { include: ['src/**/*.test.ts'], environment: 'node' },
});
