import formbody from '@fastify/formbody';
import swagger from '@fastify/swagger';
import swaggerUi from '@fastify/swagger-ui';
import Fastify, { type FastifyInstance, LogController } from 'fastify';
import fastifyPlugin from 'fastify-plugin';
import {
  jsonSchemaTransform,
  jsonSchemaTransformObject,
  serializerCompiler,
  validatorCompiler,
} from 'fastify-type-provider-zod';
import { accountPages } from './accounts/account-pages.ts';
import { accountsApi } from './accounts/api-routes.ts';
import { peoplePages } from './accounts/people-pages.ts';
import { accountsPlugin } from './accounts/plugin.ts';
import { policies, withPolicy } from './accounts/policy.ts';
import type { Config } from './config.ts';
import type { Database } from './database/database.ts';
import { developmentApi } from './development/routes.ts';
import { healthRoutes } from './http/health-routes.ts';
import { answerError, Problem } from './http/problem.ts';
import { securityHeaders } from './http/security-headers.ts';
import { letterWork } from './letters/letter-work.ts';
import { letterRoutes } from './letters/routes.ts';
import { assetRoutes } from './pages/assets.ts';
import { developmentPages } from './pages/development-pages.ts';
import { gamePages } from './pages/game-pages.ts';
import { gradePages } from './pages/grade-pages.ts';
import { letterPages } from './pages/letter-pages.ts';
import { myPatternPages } from './pages/my-pattern-pages.ts';
import { observerPages } from './pages/observer-pages.ts';
import { officialPages } from './pages/official-pages.ts';
import { patternPages } from './pages/pattern-pages.ts';
import { pageRendering } from './pages/render.ts';
import { replyPages } from './pages/reply-pages.ts';
import { reportPages } from './pages/report-pages.ts';
import { seasonPages } from './pages/season-pages.ts';
import { standingsPages } from './pages/standings-pages.ts';
import { trailPages } from './pages/trail-pages.ts';
import { entryRoutes } from './reports/entry-routes.ts';
import { reviewRoutes } from './reports/review-routes.ts';
import { rubricApi } from './rubric/api-routes.ts';
import { playPages } from './rubric/play-pages.ts';
import { rubricPages } from './rubric/rubric-pages.ts';
import { importRoutes } from './schedule/import-routes.ts';
import { scheduleRoutes } from './schedule/schedule-routes.ts';
import { standingsApi } from './standings/api-routes.ts';
import { patternsApi } from './standings/pattern-routes.ts';
import { standingsPlugin } from './standings/plugin.ts';

declare module 'fastify' {
  interface FastifyInstance {
    database: Database;
    settings: Config;
  }
}

/** Composes the application on a migrated database. It never listens: the server does, and tests inject. */
export async function buildApp(database: Database, settings: Config): Promise<FastifyInstance> {
  const app = Fastify({
    logger: { level: process.env.LOG_LEVEL ?? 'warn' },
    logController: new LogController({ disableRequestLogging: true }),
    // One hop: the address that our own proxy saw. Anything further left in X-Forwarded-For is the client's word.
    trustProxy: settings.TRUST_PROXY ? (_address, hop) => hop === 0 : false,
    bodyLimit: 5 * 1024 * 1024,
    routerOptions: { ignoreTrailingSlash: true },
  });
  app.decorate('database', database);
  app.decorate('settings', settings);
  app.setValidatorCompiler(validatorCompiler);
  app.setSerializerCompiler(serializerCompiler);
  app.setErrorHandler((error, request, reply) => answerError(error, request, reply));
  app.setNotFoundHandler((request, reply) =>
    answerError(new Problem(404, 'Not found', 'There is nothing at this address.'), request, reply),
  );

  await app.register(securityHeaders);
  await app.register(formbody);
  await app.register(accountsPlugin);
  await app.register(pageRendering);
  await app.register(apiDescription);
  await app.register(standingsPlugin);

  await app.register(healthRoutes);
  await app.register(assetRoutes);
  await app.register(accountsApi);
  await app.register(accountPages);
  await app.register(peoplePages);
  await app.register(scheduleRoutes);
  await app.register(seasonPages);
  await app.register(standingsPages);
  await app.register(gradePages);
  await app.register(standingsApi);
  await app.register(officialPages);
  await app.register(patternsApi);
  await app.register(patternPages);
  await app.register(developmentApi);
  await app.register(developmentPages);
  await app.register(myPatternPages);
  await app.register(importRoutes);
  await app.register(rubricApi);
  await app.register(entryRoutes);
  await app.register(observerPages);
  await app.register(letterWork);
  await app.register(letterRoutes);
  await app.register(letterPages);
  await app.register(rubricPages);
  await app.register(playPages);
  await app.register(reviewRoutes);
  await app.register(reportPages);
  await app.register(replyPages);
  await app.register(gamePages);
  await app.register(trailPages);
  return app;
}

/** OpenAPI 3.1 at /api/openapi.json, to read in a browser at /api/docs. */
const apiDescription = fastifyPlugin(async (app: FastifyInstance) => {
  await app.register(swagger, {
    openapi: {
      openapi: '3.1.0',
      info: {
        title: 'Crewmark',
        version: '0.1.0',
        description:
          'Evaluation and observer reporting of a football officiating conference. Errors are problem details (RFC 9457). A grade is one input to a human decision.',
      },
    },
    transform: jsonSchemaTransform,
    transformObject: jsonSchemaTransformObject,
  });
  await app.register(withPolicy(policies.open, swaggerUi), { routePrefix: '/api/docs', staticCSP: true });
  app.get('/api/openapi.json', { config: { policy: policies.open }, schema: { hide: true } }, async () =>
    app.swagger(),
  );
});
