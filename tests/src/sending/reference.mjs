// The reference client of tus 1.0 (tus-js-client), through a wire that can be cut.
// node reference.mjs FRONTEND ADDRESS COOKIE FILE SEED CUTS
// Prints `sent BYTES` as it goes and in the end `location PATH cuts N`.
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";
import net from "node:net";

const [frontend, address, cookie, file, seed, cuts] = process.argv.slice(2);
const { Upload } = createRequire(`${frontend}/package.json`)("tus-js-client");
const target = new URL(address);

let state = Number(seed) + 1;
const random = () => (state = (state * 48271) % 2147483647) / 2147483647;

const bytes = readFileSync(file);
let left = Number(cuts);
let done = 0;

// Each connection, while cuts are left, dies after a random part of the file has gone through it.
const wire = net.createServer((near) => {
  const far = net.connect(Number(target.port), target.hostname);
  let allowed = left > 0 ? Math.floor(random() * bytes.length * 0.6) + 2000 : Infinity;
  const end = () => {
    near.destroy();
    far.destroy();
  };
  near.on("data", (chunk) => {
    allowed -= chunk.length;
    if (allowed < 0 && left > 0) {
      left -= 1;
      done += 1;
      return end();
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
    retryDelays: Array(200).fill(100),
    headers: { cookie, "refrain-request": "1" },
    metadata: { filename: "clip.mp4" },
    onProgress: (sent) => console.log(`sent ${sent}`),
    onError: (error) => {
      console.error(String(error));
      process.exit(1);
    },
    onSuccess: () => {
      console.log(`location ${new URL(upload.url).pathname} cuts ${done}`);
      process.exit(0);
    },
  });
  upload.start();
});
