// The reference client of tus 1.0 (tus-js-client), through a wire that can be cut, to a server that can be killed.
// node reference.mjs FRONTEND ADDRESS COOKIE FILE SEED KILLS CUTS
// Prints `held` when a request is half way and waits for a line with the address at which the server, killed
// meanwhile, is found again; in the end prints `location PATH kills N cuts N`.
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";
import net from "node:net";
import readline from "node:readline";

const [frontend, address, cookie, file, seed, kills, cuts] = process.argv.slice(2);
const { Upload } = createRequire(`${frontend}/package.json`)("tus-js-client");
let target = new URL(address);

let state = Number(seed) + 1;
const random = () => (state = (state * 48271) % 2147483647) / 2147483647;

const bytes = readFileSync(file);
const left = { kills: Number(kills), cuts: Number(cuts) };
const done = { kills: 0, cuts: 0 };

let found = () => {};
const lines = readline.createInterface({ input: process.stdin });
lines.on("line", (line) => {
  target = new URL(line);
  found();
});

// While interruptions are left, each connection meets one after a random part of the file has gone through it.
const wire = net.createServer((near) => {
  const far = net.connect(Number(target.port), target.hostname);
  const kind = left.kills > 0 ? "kills" : "cuts";
  let allowed = left[kind] > 0 ? Math.floor(random() * bytes.length * 0.5) + 4000 : Infinity;
  const end = () => {
    near.destroy();
    far.destroy();
  };
  near.pause();
  far.on("connect", () => near.resume());
  near.on("data", (chunk) => {
    allowed -= chunk.length;
    if (allowed < 0 && left[kind] > 0) {
      left[kind] -= 1;
      done[kind] += 1;
      if (kind === "cuts") return end();
      far.write(chunk.subarray(0, Math.floor(chunk.length / 2)));
      near.pause();
      allowed = Infinity;
      found = end;
      console.log("held");
      return;
    }
    if (!far.write(chunk)) {
      near.pause();
      far.once("drain", () => near.resume());
    }
  });
  far.on("data", (chunk) => near.write(chunk));
  for (const side of [near, far]) side.on("error", end).on("close", end);
});

wire.listen(0, "127.0.0.1", () => {
  const upload = new Upload(bytes, {
    endpoint: `http://127.0.0.1:${wire.address().port}/api/v1/uploads`,
    retryDelays: Array(1000).fill(100),
    headers: { cookie, "refrain-request": "1" },
    metadata: { filename: "clip.mp4" },
    onError: (error) => {
      console.error(String(error));
      process.exit(1);
    },
    onSuccess: () => {
      console.log(`location ${new URL(upload.url).pathname} kills ${done.kills} cuts ${done.cuts}`);
      process.exit(0);
    },
  });
  upload.start();
});
