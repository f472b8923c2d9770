import adapter from '@sveltejs/adapter-static';
import { vitePreprocess } from '@sveltejs/vite-plugin-svelte';

export default {
  preprocess: vitePreprocess(),
  kit: {
    adapter: adapter({ pages: 'build', assets: 'build', fallback: 'index.html', precompress: true, strict: true }),
    // A fixed name keeps the hash of the inline start script the same from build to build.
    version: { name: 'refrain' },
    output: { bundleStrategy: 'split' },
  },
};
