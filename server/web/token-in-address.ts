import fastifyPlugin from 'fastify-plugin';
import { Problem } from './problem.ts';
import { anyToken } from './token-words.ts';

/**
 * Refuses a token in an address (RFC 6750, section 2.3, says why), whether it would open anything or not. Register it
 * before what reads sessions.
 */
export const noTokensInAddresses = fastifyPlugin(async (app) => {
  app.addHook('onRequest', async (request) => {
    const { url } = request.raw;
    if (url === undefined || !holdsToken(url)) return;
    throw new Problem(
      400,
      'A token in the address',
      'A token does not belong into an address, which logs and histories keep: send it in the header Authorization: Bearer, and revoke this one (Settings, Keys), since it may have been read.',
    );
  });
});

function holdsToken(url: string): boolean {
  if (/[?&;]access_token=/i.test(url)) return true;
  return [url, decoded(url)].some((text) => text.search(anyToken) >= 0);
}

function decoded(url: string): string {
  try {
    return decodeURIComponent(url);
  } catch {
    return url;
  }
}
