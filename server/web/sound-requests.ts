import type { FastifyRequest } from 'fastify';
import fastifyPlugin from 'fastify-plugin';
import { z } from 'zod';
import { textFault } from '../text/keepable.ts';
import { type FieldProblem, Problem } from './problem.ts';

declare module 'fastify' {
  interface FastifyContextConfig {
    /** The route itself says which part of its body is wrong, and takes the rest. */
    judgesBody?: boolean;
  }
}

/** No request of ours nests values deeper. */
const deepest = 40;
const mostFaultsTold = 20;

/**
 * For every route, whatever it does with what it is sent: text that cannot be kept is refused (422) by the name of its
 * field, and the API takes no field or body that it does not know, so that a misspelt one is not passed over. Register
 * it before what has routes.
 */
export const soundRequests = fastifyPlugin(async (app) => {
  app.addHook('onRoute', (route) => {
    const body = route.schema?.body;
    if (route.url.startsWith('/api/') && body instanceof z.ZodObject) {
      route.schema = { ...route.schema, body: body.strict() };
    }
  });

  app.addHook('preValidation', async (request) => {
    const { config, schema } = request.routeOptions;
    const faults = [
      ...faultsOf('params', request.params),
      ...faultsOf('querystring', request.query),
      ...(config.judgesBody ? [] : faultsOf('body', request.body)),
    ];
    if (
      faults.length === 0 &&
      !config.judgesBody &&
      takesNoBody(request, schema) &&
      !isNothing(request.body)
    ) {
      faults.push({ field: 'body', message: 'must be left out, this request takes none' });
    }
    if (faults.length === 0) return;
    const detail = faults.map(({ field, message }) => `${field}: ${message}`).join('; ');
    throw new Problem(422, 'The request has errors', detail, faults);
  });
});

const takesNoBody = (request: FastifyRequest, schema: { body?: unknown } | undefined) =>
  request.url.startsWith('/api/') && !request.is404 && schema?.body === undefined;

const isNothing = (body: unknown) =>
  body === undefined || body === null || (typeof body === 'object' && Object.keys(body).length === 0);

type Inside = { value: unknown; name: string; within: Inside | null; depth: number };

/** Every text and every key inside that cannot be kept. Without recursion: what is sent may be nested by malice. */
function faultsOf(where: string, sent: unknown): FieldProblem[] {
  const faults: FieldProblem[] = [];
  const open: Inside[] = [{ value: sent, name: where, within: null, depth: 0 }];
  for (let at = open.pop(); at && faults.length < mostFaultsTold; at = open.pop()) {
    const { value } = at;
    if (typeof value === 'string') {
      const message = textFault(value);
      if (message) faults.push({ field: nameOf(at), message });
    } else if (typeof value === 'object' && value !== null) {
      if (at.depth >= deepest) return [{ field: where, message: 'is nested too deeply' }];
      for (const [name, inner] of Object.entries(value).reverse()) {
        if (textFault(name)) faults.push({ field: nameOf(at), message: 'names a field that cannot be' });
        if (typeof inner === 'string' || (typeof inner === 'object' && inner !== null)) {
          open.push({ value: inner, name, within: at, depth: at.depth + 1 });
        }
      }
    }
  }
  return faults;
}

function nameOf(inside: Inside): string {
  const names: string[] = [];
  for (let at: Inside | null = inside; at; at = at.within) names.unshift(at.name);
  return names.join('.');
}
