// @module-tag long
import { once } from 'node:events';
import { connect } from 'node:net';
import Fastify from 'fastify';
import { expect, test } from 'vitest';
import { stalledBodies } from '../../server/web/stalled-bodies.ts';

test('a body that stops coming is given up with 408 and a closed connection; a slow one is waited for', async () => {
  const app = Fastify();
  await app.register(stalledBodies, { silence: 2500 });
  app.post('/', async (request) => ({ got: request.body }));
  await app.listen({ port: 0, host: '127.0.0.1' });
  const { port } = app.server.address() as { port: number };
  const send = async (pieces: string[], everyMs: number) => {
    const socket = connect(port, '127.0.0.1');
    let answer = '';
    socket.on('data', (chunk) => {
      answer += chunk;
    });
    const closed = once(socket, 'close');
    socket.write(
      'POST / HTTP/1.1\r\nHost: x\r\nConnection: close\r\nContent-Type: application/json\r\nContent-Length: 6\r\n\r\n',
    );
    for (const piece of pieces) {
      await new Promise((resolve) => setTimeout(resolve, everyMs));
      socket.write(piece);
    }
    await closed;
    return answer;
  };
  try {
    expect(await send(['"a'], 10)).toMatch(/^HTTP\/1\.1 408 [\s\S]*problem\+json[\s\S]*send it again/);
    expect(await send(['"', 'a', 'b', 'c', 'd', '"'], 500)).toMatch(
      /^HTTP\/1\.1 200 [\s\S]*\{"got":"abcd"\}/,
    );
  } finally {
    await app.close();
  }
});
