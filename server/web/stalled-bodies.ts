import fastifyPlugin from 'fastify-plugin';

/** How long a request's body may make no progress. An upload over a slow line takes what time it needs. */
const silenceMs = 30_000;

/**
 * Gives up requests whose body stops coming: the connection and what was kept of it would be held for ever. The answer
 * tells so, in case somebody is listening.
 */
export const stalledBodies = fastifyPlugin(async (app, { silence = silenceMs }: { silence?: number }) => {
  app.addHook('onRequest', async (request) => {
    const { raw } = request;
    const bodyless = raw.headers['transfer-encoding'] === undefined && !Number(raw.headers['content-length']);
    // What is injected, without a network, has no socket to wait at.
    if (bodyless || raw.complete || typeof raw.socket.setTimeout !== 'function') return;
    const { socket } = raw;
    const stalled = () => {
      const detail = `Nothing more of the request came for ${silence / 1000} seconds; send it again.`;
      const body = JSON.stringify({
        type: 'about:blank',
        title: 'The request did not arrive',
        status: 408,
        detail,
      });
      if (socket.writable) {
        socket.end(
          `HTTP/1.1 408 Request Timeout\r\nContent-Type: application/problem+json\r\nContent-Length: ${Buffer.byteLength(body)}\r\nConnection: close\r\n\r\n${body}`,
        );
      }
      socket.destroySoon();
    };
    const arrived = () => {
      socket.setTimeout(0);
      raw.off('timeout', stalled);
    };
    socket.setTimeout(silence);
    raw.once('timeout', stalled); // the request's, not the socket's: Node would destroy the socket first
    raw.once('end', arrived);
    raw.once('close', arrived);
  });
});
