import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import type { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Session } from '../../accounts/session.ts';
import type { Database } from '../../database/database.ts';
import type { Queryable } from '../../database/transaction.ts';
import { stepsOf } from '../step.ts';
import { tags } from './review-schemas.ts';

interface Setting<Value> {
  readonly schema: z.ZodType<Value>;
  /** Summaries of the two. */
  readonly tells: string;
  readonly sets: string;
  read(database: Database, conferenceId: string): Promise<Value>;
  keep(client: Queryable, acting: Session, value: Value): Promise<void>;
}

/** Reading (GET) and changing (PUT) something that the conference sets for its reports; what is set is answered. */
export function settingRoutes<Value>(app: FastifyInstance, address: string, setting: Setting<Value>): void {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  const step = stepsOf(app);
  const { tells, sets, read, keep } = setting;
  const config = { policy: policies.coordinator };
  const schema: z.ZodType = setting.schema;

  routes.get(address, { config, schema: { tags, summary: tells, response: { 200: schema } } }, (request) =>
    read(app.database, sessionOf(request).conferenceId),
  );

  routes.put(
    address,
    { config, schema: { tags, summary: sets, body: schema, response: { 200: schema } } },
    async (request) => {
      const value = request.body as Value; // by its schema
      await step(request, (client, acting) => keep(client, acting, value));
      return value;
    },
  );
}
