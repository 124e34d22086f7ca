import fastifyPlugin from 'fastify-plugin';

/**
 * An answer that says nothing of it is kept nowhere on the way, nor by the browser: most of ours tell of people, and
 * without a word a cache may decide by itself (RFC 9111, section 4.2.2).
 */
export const notKept = fastifyPlugin(async (app) => {
  app.addHook('onSend', async (_request, reply) => {
    if (!reply.hasHeader('cache-control')) reply.header('cache-control', 'no-store');
  });
});
