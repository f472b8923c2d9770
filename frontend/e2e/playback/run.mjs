// node e2e/playback/run.mjs: first picture, step, random, scrub and play, against a bare <video> in the same run.
// Prints name<TAB>value<TAB>unit.
import { runnerImport } from 'vite';

const { module } = await runnerImport(new URL('./run.ts', import.meta.url).pathname, { configFile: false });
await module.playback();
process.exit(0);
