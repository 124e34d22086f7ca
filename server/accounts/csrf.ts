import type { FastifyRequest } from 'fastify';
import { Refusal } from './refusal.ts';
import { sameToken, unmasked } from './token.ts';

const safeMethods = new Set(['GET', 'HEAD', 'OPTIONS']);

export const changesSomething = (request: FastifyRequest) => !safeMethods.has(request.method);

/**
 * Refuses a changing request that a browser sent on behalf of another site. Browsers tell by Sec-Fetch-Site (W3C
 * Fetch Metadata), older ones and plain HTTP by Origin (RFC 6454). A program that sends neither has no user's cookies
 * to abuse.
 */
export function requireSameSite(request: FastifyRequest): void {
  const site = request.headers['sec-fetch-site'];
  if (site !== undefined) {
    if (site === 'same-origin' || site === 'none') return;
    throw fromElsewhere();
  }
  const origin = request.headers.origin;
  if (origin === undefined) return;
  if (URL.canParse(origin) && new URL(origin).host === request.host) return;
  throw fromElsewhere();
}

/** The session's token as brought by header, query (uploads, whose body is read late) or form field. */
function tokenBrought(request: FastifyRequest): string | undefined {
  const header = request.headers['x-csrf-token'];
  if (typeof header === 'string') return header;
  const query = request.query as Record<string, unknown> | undefined;
  if (typeof query?.csrf === 'string') return query.csrf;
  const body = request.body as Record<string, unknown> | null | undefined;
  if (typeof body === 'object' && body !== null && typeof body._csrf === 'string') return body._csrf;
  return undefined;
}

export function requireToken(request: FastifyRequest): void {
  const expected = request.session?.csrfToken;
  // A token for programs is in a header that no other site can make a browser send: nothing to abuse.
  if (expected === undefined || request.session?.token) return;
  const brought = tokenBrought(request);
  if (brought !== undefined && sameToken(unmasked(brought), expected)) return;
  throw new Refusal(
    403,
    'The form is from an earlier sign-in, or its token is missing. Load the page again and send it once more (programs: header x-csrf-token with the csrfToken of GET /api/session).',
  );
}

const fromElsewhere = () =>
  new Refusal(
    403,
    'This request came from another site and was not carried out. Open the page here and try again.',
  );
