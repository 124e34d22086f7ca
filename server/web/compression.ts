import { constants } from 'node:zlib';
import compress from '@fastify/compress';
import fastifyPlugin from 'fastify-plugin';

/**
 * Compresses what is answered (Brotli, else gzip), where it is text. Files for browsers are packed ahead
 * (`web/assets.ts`); PDF and ZIP are packed already.
 *
 * BREACH (Prado, Harris, Gluck 2013) reads a secret from the lengths of compressed answers that hold it beside what
 * the attacker can put in. Against it:
 * - Only an answer 200 to GET is compressed. What a form brought is repeated in answers to POST and in refusals, and
 *   links, recovery codes and tokens are shown in answers to POST.
 * - A page's token against forged requests is masked anew each time (`accounts/token.ts`).
 * - A page that answers GET with a secret says `compress: false` at its route.
 * - Cookies are SameSite=Lax: another site cannot make requests of the signed-in person but by leading them there.
 * What remains is an evaluation's own text beside an address's search words, on pages that one has to be led to
 * thousands of times, in view.
 */
export const compression = fastifyPlugin(async (app) => {
  app.addHook('onSend', async (request, reply) => {
    if (request.method !== 'GET' || reply.statusCode !== 200) request.headers['x-no-compression'] = 'yes';
  });
  await app.register(compress, {
    globalDecompression: false, // nobody sends packed requests; a small one could hold a very large body
    encodings: ['br', 'gzip'],
    brotliOptions: { params: { [constants.BROTLI_PARAM_QUALITY]: 5 } },
    customTypes: /^text\/(?!event-stream)|json|xml|javascript|svg/,
  });
});
