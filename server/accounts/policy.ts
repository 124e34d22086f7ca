import type { FastifyRequest } from 'fastify';
import type { Role } from './roles.ts';

/** Who is signed in, as every route sees it. */
export type Session = {
  conferenceId: string;
  personId: string;
  givenName: string;
  familyName: string;
  email: string;
  roles: ReadonlySet<Role>;
  csrfToken: string;
};

export type Verdict = 'allowed' | 'sign in first' | 'not yours';

/** Who may use a route. Every route names one; a route without a policy cannot be registered. */
export type Policy = {
  name: string;
  check(request: FastifyRequest): Verdict | Promise<Verdict>;
};

declare module 'fastify' {
  interface FastifyContextConfig {
    policy?: Policy;
  }
  interface FastifyRequest {
    session: Session | null;
  }
}

const withRole = (role: Role): Policy => ({
  name: role,
  check: (request) => {
    if (!request.session) return 'sign in first';
    return request.session.roles.has(role) ? 'allowed' : 'not yours';
  },
});

export const policies = {
  open: { name: 'open', check: () => 'allowed' },
  signedIn: { name: 'signedIn', check: (request) => (request.session ? 'allowed' : 'sign in first') },
  coordinator: withRole('coordinator'),
  observer: withRole('observer'),
  official: withRole('official'),
} satisfies Record<string, Policy>;
