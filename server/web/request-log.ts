import { randomUUID } from 'node:crypto';
import { type FastifyServerOptions, LogController } from 'fastify';
import fastifyPlugin from 'fastify-plugin';
import { errorForLog } from './error-for-log.ts';

/**
 * One line of JSON for each thing logged, on standard output. No line holds what somebody wrote: errors are told by
 * `errorForLog`, requests by their route's pattern, without addresses' ids and queries, and without headers or bodies.
 */
export const logging = (
  level: string,
  stream?: { write(line: string): void },
): Pick<FastifyServerOptions, 'logger' | 'logController' | 'genReqId' | 'requestIdHeader'> => ({
  logger: {
    level,
    ...(stream && { stream }),
    base: { pid: process.pid },
    serializers: {
      // Without the message, which the library's type asks for.
      err: (error: unknown) => errorForLog(error) as never,
      req: () => ({}),
      res: () => ({}),
    },
    hooks: {
      // A line that is given no words, or an error's own, would repeat its message.
      logMethod(args, method) {
        const [first, words] = args as unknown[];
        const error = first instanceof Error ? first : (first as { err?: unknown } | null)?.err;
        if (!(error instanceof Error)) return method.apply(this, args);
        const given = first instanceof Error ? { err: first } : (first as object);
        const own = typeof words !== 'string' || (error.message !== '' && words.includes(error.message));
        return method.apply(this, [given, own ? 'an error' : words] as never);
      },
    },
  },
  logController: new LogController({ disableRequestLogging: true, requestIdLogLabel: 'requestId' }),
  // Ours, never one that a request brings: that would be the client's text.
  genReqId: () => randomUUID(),
  requestIdHeader: false,
});

/** Logs each request when it was answered, and tells its id to who asked, to be found again in the log. */
export const requestLog = fastifyPlugin(async (app) => {
  app.addHook('onRequest', async (request, reply) => {
    reply.header('x-request-id', request.id);
  });
  app.addHook('onResponse', async (request, reply) => {
    request.log.info(
      {
        method: request.method,
        route: request.routeOptions.url ?? 'none',
        status: reply.statusCode,
        ms: Math.round(reply.elapsedTime * 10) / 10,
      },
      'request',
    );
  });
});
