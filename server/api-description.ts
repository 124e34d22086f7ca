import swagger, { type FastifyDynamicSwaggerOptions } from '@fastify/swagger';
import swaggerUi from '@fastify/swagger-ui';
import type { FastifyInstance } from 'fastify';
import fastifyPlugin from 'fastify-plugin';
import { jsonSchemaTransform, jsonSchemaTransformObject } from 'fastify-type-provider-zod';
import { policies, withPolicy } from './accounts/policy.ts';
import { describeFacts } from './football/fact-descriptions.ts';
import { version } from './version.ts';

type Transform = NonNullable<FastifyDynamicSwaggerOptions['transform']>;
type TransformObject = NonNullable<FastifyDynamicSwaggerOptions['transformObject']>;
type Operation = { security?: object[]; responses: Record<string, object> };

/** By what a route lets in: anybody, somebody who signed in, or a program's token too. */
const transform: Transform = (input) => {
  const { config } = input.route as { config?: { policy?: object; peopleOnly?: boolean } };
  const { schema, url } = jsonSchemaTransform(input as never) as { schema: object; url: string };
  const security: Record<string, string[]>[] =
    config?.policy === policies.open
      ? []
      : config?.peopleOnly
        ? [{ session: [] }]
        : [{ session: [] }, { token: [] }];
  return { schema: { ...schema, security }, url };
};

/** Whatever does not let everybody in says how it refuses. */
const transformObject: TransformObject = (input) => {
  const document = jsonSchemaTransformObject(input as never) as { paths?: Record<string, object> };
  for (const path of Object.values(document.paths ?? {})) {
    for (const operation of Object.values(path) as Operation[]) {
      if (!operation.security?.length) continue;
      operation.responses['401'] ??= { $ref: '#/components/responses/NotSignedIn' };
      operation.responses['403'] ??= { $ref: '#/components/responses/NotAllowed' };
    }
  }
  return document as never;
};

const problem = {
  type: 'object' as const,
  required: ['type', 'title', 'status', 'detail'],
  properties: {
    type: { type: 'string' as const },
    title: { type: 'string' as const },
    status: { type: 'integer' as const },
    detail: { type: 'string' as const },
    instance: { type: 'string' as const },
    errors: {
      type: 'array' as const,
      items: {
        type: 'object' as const,
        required: ['field', 'message'],
        properties: { field: { type: 'string' as const }, message: { type: 'string' as const } },
      },
    },
  },
};
const content = { 'application/problem+json': { schema: { $ref: '#/components/schemas/Problem' } } };
const challenge = {
  'WWW-Authenticate': {
    description: 'How to be let in (RFC 6750, section 3).',
    schema: { type: 'string', example: 'Bearer realm="Crewmark", error="invalid_token"' },
  },
} as const;

/** OpenAPI 3.1 at /api/openapi.json, to read in a browser at /api/docs. */
export const apiDescription = fastifyPlugin(async (app: FastifyInstance) => {
  describeFacts();
  await app.register(swagger, {
    openapi: {
      openapi: '3.1.0',
      info: {
        title: 'Crewmark',
        version,
        description:
          'Evaluation and observer reporting of a football officiating conference. Errors are problem details (RFC 9457). A grade is one input to a human decision.',
      },
      components: {
        securitySchemes: {
          session: {
            type: 'apiKey',
            in: 'cookie',
            name: 'crewmark_session',
            description:
              'A person who signed in by POST /api/session (over https the cookie is __Host-crewmark_session). Every request but GET also brings the header x-csrf-token, with the csrfToken of GET /api/session.',
          },
          token: {
            type: 'http',
            scheme: 'bearer',
            bearerFormat: 'crewmark_ and 43 characters',
            description:
              'A program. A coordinator makes the token (Settings, Keys, or POST /api/tokens); it may what its role may and nothing else, and only in this header: in an address it is refused. No x-csrf-token is needed.',
          },
        },
        schemas: { Problem: problem },
        responses: {
          NotSignedIn: {
            description: 'Nobody is signed in, or the token does not work.',
            headers: challenge,
            content,
          },
          NotAllowed: {
            description: 'The role, or a token that only reads, may not do this.',
            headers: challenge,
            content,
          },
        },
      },
    },
    transform,
    transformObject,
  });
  await app.register(withPolicy(policies.open, swaggerUi), { routePrefix: '/api/docs', staticCSP: true });
  app.get('/api/openapi.json', { config: { policy: policies.open }, schema: { hide: true } }, async () =>
    app.swagger(),
  );
});
