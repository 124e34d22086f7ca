import helmet from '@fastify/helmet';
import fastifyPlugin from 'fastify-plugin';

/**
 * Headers that tell the browser to run and load only what this server serves: no script or style written into a page
 * is obeyed. Film (`media-src`) may come from any site over TLS, and from a file the observer opens.
 */
export const securityHeaders = fastifyPlugin(async (app) => {
  await app.register(helmet, {
    contentSecurityPolicy: {
      useDefaults: false,
      directives: {
        defaultSrc: ["'none'"],
        scriptSrc: ["'self'"],
        styleSrc: ["'self'"],
        fontSrc: ["'self'"],
        imgSrc: ["'self'", 'data:', 'blob:'],
        mediaSrc: ["'self'", 'blob:', 'https:'],
        connectSrc: ["'self'"],
        workerSrc: ["'self'"],
        manifestSrc: ["'self'"],
        formAction: ["'self'"],
        baseUri: ["'none'"],
        frameAncestors: ["'none'"],
      },
    },
    // Set below, over TLS only: over plain HTTP it has no meaning.
    strictTransportSecurity: false,
    referrerPolicy: { policy: 'same-origin' },
  });
  app.addHook('onRequest', async (request, reply) => {
    if (request.protocol === 'https') reply.header('strict-transport-security', 'max-age=31536000');
  });
});
