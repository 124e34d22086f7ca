import fastifyPlugin from 'fastify-plugin';
import helmet from 'helmet';

const isPartOfPage = (url: string) =>
  /^\/assets\/[^?]*\.(css|woff2|png)$|^\/assets\/[\w-]+-\w{8}\.js$/.test(url);
const aboutPages = [
  ...['content-security-policy', 'cross-origin-opener-policy', 'origin-agent-cluster', 'referrer-policy'],
  ...['x-dns-prefetch-control', 'x-download-options', 'x-frame-options', 'x-permitted-cross-domain-policies'],
  'x-xss-protection',
];

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
    // Policies are about pages; a font or style sheet with them is half a kilobyte more.
    if (isPartOfPage(request.url)) for (const name of aboutPages) reply.raw.removeHeader(name);
    if (request.protocol === 'https') reply.header('strict-transport-security', 'max-age=31536000');
  });
});
