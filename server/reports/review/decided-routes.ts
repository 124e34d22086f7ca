import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { stepsOf } from '../step.ts';
import { decidedSetting, decidedSettingSchema, keepDecidedSetting } from './decided-setting.ts';
import { tags } from './review-schemas.ts';

/** Of a duty's chances, the share that a log must give for the duty to count: the conference's to set. */
export async function decidedRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const step = stepsOf(app);

  routes.get(
    '/api/decided-share',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary:
          'The least share (%) of the chances of a duty that a log must give for it to count in a report',
        response: { 200: decidedSettingSchema },
      },
    },
    (request) => decidedSetting(app.database, sessionOf(request).conferenceId),
  );

  routes.put(
    '/api/decided-share',
    {
      config: { policy: policies.coordinator },
      schema: {
        tags,
        summary: 'Set that share; filed reports of open seasons are counted again',
        body: decidedSettingSchema,
        response: { 200: decidedSettingSchema.extend({ counted: z.int(), changed: z.int() }) },
      },
    },
    async (request) => {
      const again = await step(request, (client, acting) => keepDecidedSetting(client, acting, request.body));
      return { ...request.body, ...(again ?? { counted: 0, changed: 0 }) };
    },
  );
}
