import swagger, { type FastifyDynamicSwaggerOptions } from '@fastify/swagger';
import swaggerUi from '@fastify/swagger-ui';
import type { FastifyInstance } from 'fastify';
import fastifyPlugin from 'fastify-plugin';
import { jsonSchemaTransform, jsonSchemaTransformObject } from 'fastify-type-provider-zod';
import { policies, withPolicy } from './accounts/policy.ts';
import { completeOperations, type Described, refusalResponses, tags } from './api-operations.ts';
import { describeFacts } from './football/fact-descriptions.ts';
import { version } from './version.ts';
import { describedWebhooks } from './webhooks/described.ts';

type Transform = NonNullable<FastifyDynamicSwaggerOptions['transform']>;
type TransformObject = NonNullable<FastifyDynamicSwaggerOptions['transformObject']>;

/** By what a route lets in: anybody, somebody who signed in, or a program's token too. */
const transform: Transform = (input) => {
  const { config } = input.route as { config?: { policy?: { name: string }; peopleOnly?: boolean } };
  const { consumes, body } = input.schema as { consumes?: readonly string[]; body?: object };
  const { schema, url } = jsonSchemaTransform(input as never) as { schema: object; url: string };
  const security: Record<string, string[]>[] =
    config?.policy === policies.open
      ? []
      : config?.peopleOnly
        ? [{ session: [] }]
        : [{ session: [] }, { token: [] }];
  // A file is the body itself, which no schema describes.
  const files = consumes && !body ? { 'x-files': consumes } : {};
  return { schema: { ...schema, security, 'x-policy': config?.policy?.name, ...files }, url };
};

const transformObject: TransformObject = (input) => {
  const document = jsonSchemaTransformObject(input as never);
  completeOperations(document as Described);
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
        contact: { name: 'Whoever keeps this server' },
        license: { name: 'Apache License 2.0', identifier: 'Apache-2.0' },
      },
      servers: [{ url: app.settings.PUBLIC_URL ?? '/', description: 'This server' }],
      tags,
      webhooks: describedWebhooks as never,
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
        responses: refusalResponses as never,
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
