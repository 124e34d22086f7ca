import { STATUS_CODES } from 'node:http';
import type { FastifyError, FastifyReply, FastifyRequest } from 'fastify';
import { hasZodFastifySchemaValidationErrors } from 'fastify-type-provider-zod';
import { ZodError } from 'zod';
import { databaseTrouble } from '../database/trouble.ts';
import { pathWithoutTokens } from './token-words.ts';

/** One wrong field of a request: where it is, what is wrong, and what to send instead. */
export type FieldProblem = { field: string; message: string };

/** The body of every error of the API (RFC 9457, section 3). */
type ProblemDetails = {
  type: string;
  title: string;
  status: number;
  detail: string;
  instance?: string;
  errors?: FieldProblem[];
};

/** An error whose sentence is meant for the person who made the request. */
export class Problem extends Error {
  override name = 'Problem';
  constructor(
    readonly status: number,
    readonly title: string,
    detail: string,
    readonly errors: FieldProblem[] = [],
    /** Headers that belong to the answer, such as Retry-After. */
    readonly headers: Record<string, string> = {},
  ) {
    super(detail);
  }
}

export const notFound = (what: string) =>
  new Problem(404, 'Not found', `There is no such ${what}, or it is not yours to see.`);
export const conflict = (detail: string, errors: FieldProblem[] = []) =>
  new Problem(409, 'Conflict', detail, errors);
export const invalid = (errors: FieldProblem[]) =>
  new Problem(
    400,
    'The request has errors',
    errors.map((error) => `${error.field}: ${error.message}`).join('; '),
    errors,
  );

/** What passes by itself: the same request may be sent again, which keeps nothing twice. */
const passing = {
  away: new Problem(
    503,
    'The database does not answer',
    'The request was not answered because the database is being started again or is busy; try again in a few seconds. What was confirmed before is kept.',
    [],
    { 'retry-after': '2' },
  ),
  full: new Problem(
    507,
    'No room left to save',
    'Nothing could be saved because the disk of the server is full; what was confirmed before is kept. Whoever runs the server has to free some room; then try again.',
    [],
    { 'retry-after': '30' },
  ),
} as const;

/** What to tell about any thrown value. An unforeseen error tells nothing of the program's inside. */
function problemDetailsOf(error: unknown, instance?: string): ProblemDetails {
  if (error instanceof Problem) {
    return details(error.status, error.title, error.message, instance, error.errors);
  }
  if (error instanceof ZodError) {
    // A field that a page reads by itself; its name stands in the sentence where the schema gives it.
    const errors = error.issues.map((issue) => ({
      field: issue.path.join('.') || 'a field',
      message: issue.message,
    }));
    return details(
      400,
      'The request has errors',
      errors.map((e) => `${e.field}: ${e.message}`).join('; '),
      instance,
      errors,
    );
  }
  const closed = closedSeason(error);
  if (closed) return details(409, 'Conflict', closed, instance);
  const fastifyError = error as FastifyError;
  if (hasZodFastifySchemaValidationErrors(error)) {
    const errors = error.validation.map((issue) => ({
      field: [error.validationContext, ...issue.instancePath.split('/').filter(Boolean)].join('.'),
      message: (issue.message ?? 'is not valid').replace(
        /^Invalid input: .* received undefined$/,
        'is needed',
      ),
    }));
    return {
      ...details(
        400,
        'The request has errors',
        errors.map((e) => `${e.field}: ${e.message}`).join('; '),
        instance,
        errors,
      ),
    };
  }
  const status = fastifyError?.statusCode ?? 500;
  if (status >= 400 && status < 500) {
    const said = saidOfBodies[fastifyError.code] ?? fastifyError.message;
    return details(status, 'The request cannot be answered', said, instance);
  }
  return details(
    500,
    'Something went wrong here',
    'The request was not carried out; it was logged, and trying again is safe.',
    instance,
  );
}

/** Where the web server's own words name no fix. */
const saidOfBodies: Record<string, string> = {
  FST_ERR_CTP_INVALID_MEDIA_TYPE:
    'A body of this media type is not taken here: send JSON with the header content-type: application/json, or what /api/openapi.json says of this address.',
  FST_ERR_CTP_BODY_TOO_LARGE:
    'The body is larger than is taken here: send less at once, in several requests.',
};

/** What the database says of a write into a closed season, however the error came here; undefined for any other. */
function closedSeason(error: unknown): string | undefined {
  for (let at = error as Thrown | undefined; at; at = at.cause ?? at.meta?.driverAdapterError) {
    if (at.code === 'CM409' || at.originalCode === 'CM409') return at.originalMessage ?? at.message;
  }
  return undefined;
}
type Thrown = {
  code?: string;
  message?: string;
  originalCode?: string;
  originalMessage?: string;
  cause?: Thrown;
  meta?: { driverAdapterError?: Thrown };
};

function details(
  status: number,
  title: string,
  detail: string,
  instance?: string,
  errors: FieldProblem[] = [],
): ProblemDetails {
  return {
    type: 'about:blank',
    title,
    status,
    detail,
    ...(instance ? { instance } : {}),
    ...(errors.length > 0 ? { errors } : {}),
  };
}

/** Sends problem+json under /api, and a page elsewhere. */
export async function answerError(
  thrown: unknown,
  request: FastifyRequest,
  reply: FastifyReply,
): Promise<FastifyReply> {
  const trouble = thrown instanceof Problem ? undefined : databaseTrouble(thrown);
  const error = trouble === undefined ? shownAs(thrown, request) : passing[trouble];
  if (trouble === 'full') request.server.database.outage.full = true;
  const problem = problemDetailsOf(error, pathWithoutTokens(request.url));
  const route = request.routeOptions.url ?? 'none';
  if (trouble !== undefined) request.log.warn({ trouble, err: thrown, route }, 'not answered');
  else if (problem.status >= 500) request.log.error({ err: error, route }, 'request failed');
  reply.code(problem.status);
  if (error instanceof Problem) reply.headers(error.headers);
  // RFC 9110, section 15.5.2: with each 401 goes how to be let in; a cookie is no scheme of its own.
  if (problem.status === 401 && !reply.hasHeader('www-authenticate')) {
    reply.header('www-authenticate', 'Bearer realm="Crewmark"');
  }
  if (wantsProblem(request)) {
    // RFC 9457, section 4.2.1: with about:blank the title is the status's own phrase.
    const titled = { ...problem, title: STATUS_CODES[problem.status] ?? problem.title };
    return reply.type('application/problem+json').send(JSON.stringify(titled));
  }
  return reply.page('error', { problem }, { title: problem.title });
}

/** Of a page, an address that can name nothing is one where there is nothing: people do not know what a UUID is. */
function shownAs(thrown: unknown, request: FastifyRequest): unknown {
  if (request.method !== 'GET' || wantsProblem(request) || !hasZodFastifySchemaValidationErrors(thrown))
    return thrown;
  return thrown.validationContext === 'params'
    ? new Problem(404, 'Not found', 'There is nothing at this address.')
    : thrown;
}

export function wantsProblem(request: FastifyRequest): boolean {
  return request.url.startsWith('/api/') || /^\/(health|ready|metrics)$/.test(request.url);
}
