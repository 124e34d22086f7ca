import type { FastifyRequest } from 'fastify';
import { Problem } from '../../web/problem.ts';
import { tokenPrefix } from '../../web/token-words.ts';
import { changesSomething } from '../csrf.ts';
import { policies } from '../policy.ts';
import { Refusal } from '../refusal.ts';
import type { Session } from '../session.ts';

/** How a program is told which scheme to sign in by (RFC 6750, section 3). */
const realm = 'Bearer realm="Crewmark"';

const invalidToken = () =>
  new Problem(
    401,
    'The token does not work',
    'It was revoked, has expired, was never made, or its maker lost the role. A coordinator makes another one (Settings, Keys).',
    [],
    { 'www-authenticate': `${realm}, error="invalid_token"` },
  );

/** The token of `Authorization: Bearer ...`; undefined when the header is absent or of another scheme. */
function bearerOf(request: FastifyRequest): string | undefined {
  return /^bearer +(\S+) *$/i.exec(request.headers.authorization ?? '')?.[1];
}

/**
 * The token by which a request wants to be let in; undefined when it is to be judged by its cookie, if by anything. A
 * request with a token is never judged by a cookie besides.
 * @throws Refusal 403 where no token is taken
 */
export function tokenBrought(request: FastifyRequest): string | undefined {
  const { config } = request.routeOptions;
  const token = bearerOf(request);
  if (token === undefined || request.is404) return undefined;
  if (config.peopleOnly) {
    throw new Refusal(
      403,
      'No token is taken here: only somebody who signed in may do this, with the session’s cookie.',
    );
  }
  const isApi = request.routeOptions.url?.startsWith('/api/');
  // Something in front of the program may send a bearer of its own along with every page.
  if (!isApi && !token.startsWith(tokenPrefix)) return undefined;
  if (!isApi) throw new Refusal(403, 'A token opens the addresses under /api, and no pages.');
  return config.policy === policies.open ? undefined : token;
}

/** @throws Problem 401 when the token opened nothing, Refusal 403 when it may only read. */
export function requireFit(
  request: FastifyRequest,
  session: Session | undefined,
): asserts session is Session {
  if (!session) throw invalidToken();
  if (session.token?.readOnly && changesSomething(request)) {
    throw new Refusal(403, 'This token may only read.', {
      'www-authenticate': `${realm}, error="insufficient_scope"`,
    });
  }
}
