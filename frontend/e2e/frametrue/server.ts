import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { extname, join, normalize } from 'node:path';

const TYPES: Record<string, string> = { '.html': 'text/html', '.js': 'text/javascript', '.mp4': 'video/mp4' };

export interface FileServer {
  port: number;
  close(): void;
}

/** Serves folders with byte ranges (RFC 9110, section 14), on a free port of every address of the machine. */
export async function serveFolders(folders: string[]): Promise<FileServer> {
  const server = createServer((request, response) => {
    answer(folders, request, response).catch(() => response.writeHead(500).end());
  });
  await new Promise<void>((resolve) => server.listen(0, resolve));
  return { port: (server.address() as AddressInfo).port, close: () => server.close() };
}

async function answer(folders: string[], request: IncomingMessage, response: ServerResponse): Promise<void> {
  const path = normalize(decodeURIComponent(new URL(request.url ?? '/', 'http://local').pathname));
  for (const folder of folders) {
    const file = join(folder, path);
    const size = await stat(file).then(
      (s) => (s.isFile() ? s.size : -1),
      () => -1,
    );
    if (size >= 0) return send(file, size, request, response);
  }
  response.writeHead(404).end();
}

function send(file: string, size: number, request: IncomingMessage, response: ServerResponse): void {
  const type = TYPES[extname(file)] ?? 'application/octet-stream';
  const range = /^bytes=(\d+)-(\d*)$/.exec(request.headers.range ?? '');
  const start = range ? Number(range[1]) : 0;
  const end = range?.[2] ? Math.min(Number(range[2]), size - 1) : size - 1;
  const headers = { 'content-type': type, 'accept-ranges': 'bytes', 'content-length': end - start + 1 };
  if (range) response.writeHead(206, { ...headers, 'content-range': `bytes ${start}-${end}/${size}` });
  else response.writeHead(200, headers);
  createReadStream(file, { start, end }).pipe(response);
}
