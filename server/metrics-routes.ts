import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { Policy } from './accounts/policy.ts';
import { Refusal } from './accounts/refusal.ts';
import { sameToken } from './accounts/token.ts';

/** What a proxy adds, of whichever make. */
const forwarded = /^(forwarded|via|x-forwarded.*|x-real-ip|x-client-ip|true-client-ip|cf-connecting-ip)$/;
/** A proxy that adds nothing still passes on the name that was asked for, as does a page that has its own name lead here. */
const ownName = /^(localhost|127\.\d+\.\d+\.\d+|\[::1\])(:\d+)?$/i;
const loopback = /^(127\.\d+\.\d+\.\d+|::1|::ffff:127\.\d+\.\d+\.\d+)$/;

/** With METRICS_TOKEN whoever brings it; without, only who asks on the machine itself, not through a proxy. */
const metricsPolicy = (token: string | undefined): Policy => ({
  name: 'metrics',
  check(request: FastifyRequest) {
    if (token !== undefined) {
      const brought = /^bearer +(\S+) *$/i.exec(request.headers.authorization ?? '')?.[1];
      if (brought !== undefined && sameToken(brought, token)) return;
      throw new Refusal(401, 'Send METRICS_TOKEN of the server’s settings as Authorization: Bearer.');
    }
    const direct = loopback.test(request.raw.socket.remoteAddress ?? '');
    const asked = ownName.test(request.headers.host ?? '');
    if (direct && asked && !Object.keys(request.headers).some((header) => forwarded.test(header))) return;
    throw new Refusal(
      403,
      'Metrics are given on the server itself only. To read them from elsewhere set METRICS_TOKEN there and send it as Authorization: Bearer.',
    );
  },
});

/** GET /metrics, in the text format of Prometheus. */
export async function metricsRoutes(app: FastifyInstance): Promise<void> {
  const policy = metricsPolicy(app.settings.METRICS_TOKEN);
  app.get(
    '/metrics',
    { config: { policy, nobodyAsked: true }, schema: { hide: true } },
    async (_request, reply) => {
      const { contentType, body } = await app.metrics.text();
      return reply.header('cache-control', 'no-store').type(contentType).send(body);
    },
  );
}
