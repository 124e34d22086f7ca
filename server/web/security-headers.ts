import fastifyPlugin from 'fastify-plugin';
import helmet from 'helmet';

/**
 * Headers that tell the browser to run and load only what this server serves: no script or style written into a page
 * is obeyed. Film (`media-src`) may come from any site over TLS, and from a file the observer opens.
 */
export const securityHeaders = fastifyPlugin(async (app) => {
  // Made once: the plugin for Fastify puts them together anew at every request.
  const setHeaders = helmet({
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
    setHeaders(request.raw, reply.raw, (error) => {
      if (error) throw error;
    });
    if (request.protocol === 'https') reply.header('strict-transport-security', 'max-age=31536000');
  });
});
