// node e2e/frametrue/run.mjs [READS]: reads READS frames per clip (100 by default) off the painted canvas.
// Prints name<TAB>value<TAB>unit; ends with a failure when one frame was wrong or a check did not hold.
import { runnerImport } from 'vite';

const { module } = await runnerImport(new URL('./run.ts', import.meta.url).pathname, { configFile: false });
const failures = await module.frametrue(Number(process.argv[2] ?? 100));
process.exit(failures ? 1 : 0);
