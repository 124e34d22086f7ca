import type {
  FastifyInstance,
  FastifyPluginAsync,
  FastifyPluginCallback,
  FastifyRequest,
  FastifySchema,
} from 'fastify';
import { wantsProblem } from '../web/problem.ts';
import { notSignedIn, notYours, Refusal } from './refusal.ts';
import { type Role, staffRoles } from './roles.ts';
import * as scope from './scope.ts';
import type { About, Session } from './session.ts';

/**
 * Who may use a route. Every route names one in `config: { policy: policies.x }`; registering a route without one
 * throws. Those for one report, game, letter and so on read its id from the address (`:reportId`, `:gameId`, ...).
 */
export type Policy = {
  name: string;
  /** What has to be known of the thing whose id is in the address: asked while the session is read. */
  asks?: { parameter: string; questions: readonly scope.Question[] };
  /** Throws a Refusal: 401 not signed in, 403 lacks the role, 404 absent or someone else's. */
  check(request: FastifyRequest): void;
};

declare module 'fastify' {
  interface FastifyContextConfig {
    policy?: Policy;
    /** Also for a coordinator who has yet to set up the second factor that the conference needs. */
    beforeEnrolment?: true;
    /** Not for a program with a token: what gives access to accounts or takes it away, and what takes data away for good. */
    peopleOnly?: true;
    /** Answers alike whoever asks, and so without the session: also when there is no database to read it from. */
    nobodyAsked?: true;
  }
}

const open: Policy = { name: 'open', check: () => {} };

const signedIn: Policy = {
  name: 'signed in',
  check(request) {
    if (!request.session) throw notSignedIn();
  },
};

const withRole = (role: Role): Policy => ({
  name: role,
  check(request) {
    if (!request.session) throw notSignedIn();
    if (!request.session.roles.has(role)) throw new Refusal(403, `This is for the ${role} only.`);
  },
});

/** Whoever works for the conference: all but teams' contacts, who see their own inquiries only. */
const staff: Policy = {
  name: 'staff',
  check(request) {
    const { roles } = sessionOf(request);
    if (!staffRoles.some((role) => roles.has(role))) {
      throw new Refusal(403, 'This is for coordinators, observers and officials only.');
    }
  },
};

type Owned = {
  name: string;
  /** Name of the id in the address. */
  parameter: string;
  /** What it is called in a refusal. */
  what: string;
  role: Role;
  owns: scope.Question;
};

/** For one thing: the coordinator reaches all of the conference's (`any`), `role` only what is theirs. */
const ownOrCoordinator = ({
  name,
  parameter,
  what,
  role,
  owns,
  any,
}: Owned & { any: scope.Question }): Policy => ({
  name,
  asks: { parameter, questions: [any, owns] },
  check(request) {
    const { roles } = sessionOf(request);
    if (!roles.has('coordinator') && !roles.has(role)) {
      throw new Refusal(403, `This is for the coordinator and the ${role} whose ${what} it is.`);
    }
    if (!request.holds.has(roles.has('coordinator') ? any : owns)) throw notYours(what);
  },
});

/** For one thing that not even the coordinator may touch in its owner's name. */
const ownOnly = ({ name, parameter, what, role, owns }: Owned): Policy => ({
  name,
  asks: { parameter, questions: [owns] },
  check(request) {
    withRole(role).check(request);
    if (!request.holds.has(owns)) throw notYours(what);
  },
});

/** For a game: the coordinator reaches any, observers and officials what the questions say is theirs. */
const ofGame = (
  name: string,
  { observers, officials }: { observers: scope.Question; officials: scope.Question },
): Policy => ({
  name,
  asks: { parameter: 'gameId', questions: [scope.anyGame, observers, officials] },
  check(request) {
    const { roles } = sessionOf(request);
    const reaches =
      (roles.has('coordinator') && request.holds.has(scope.anyGame)) ||
      (roles.has('observer') && request.holds.has(observers)) ||
      (roles.has('official') && request.holds.has(officials));
    if (!reaches) throw notYours('game');
  },
});

export const policies = {
  /** Anyone, signed in or not. */
  open,
  /** Any active person of a conference. */
  signedIn,
  /** Coordinators, observers and officials, but no team's contact. */
  staff,
  coordinator: withRole('coordinator'),
  observer: withRole('observer'),
  official: withRole('official'),
  'team contact': withRole('team contact'),
  /** `:reportId`: the observer who writes it, or the coordinator. */
  ownReport: ownOrCoordinator({
    name: 'own report',
    parameter: 'reportId',
    any: scope.anyReport,
    what: 'report',
    role: 'observer',
    owns: scope.wroteReport,
  }),
  /** `:reportId`: only the observer who writes it. */
  writesReport: ownOnly({
    name: 'writes report',
    parameter: 'reportId',
    what: 'report',
    role: 'observer',
    owns: scope.wroteReport,
  }),
  /** `:gameId`: an observer assigned to it, or the coordinator. */
  assignedGame: ownOrCoordinator({
    name: 'assigned game',
    parameter: 'gameId',
    any: scope.anyGame,
    what: 'game',
    role: 'observer',
    owns: scope.assignedToGame,
  }),
  /** `:gameId`: whoever may know its plays: coordinator, assigned observers, and after release those who worked it. */
  playsOfGame: ofGame('plays of the game', {
    observers: scope.assignedToGame,
    officials: scope.workedReleasedGame,
  }),
  /** `:gameId`: whoever may see its film, which the conference decides: coordinator, its observers, those who worked it. */
  filmOfGame: ofGame('film of the game', {
    observers: scope.assignedToFilmedGame,
    officials: scope.workedFilmedGame,
  }),
  /** `:assignmentId`: the observer it was offered to, or the coordinator. */
  ownAssignment: ownOrCoordinator({
    name: 'own assignment',
    parameter: 'assignmentId',
    any: scope.anyAssignment,
    what: 'assignment',
    role: 'observer',
    owns: scope.ownsAssignment,
  }),
  /** `:setId`: the observers asked to mark its clips, once it was opened, or the coordinator. */
  calibrationSet: ownOrCoordinator({
    name: 'calibration set',
    parameter: 'setId',
    any: scope.anyCalibrationSet,
    what: 'calibration set',
    role: 'observer',
    owns: scope.askedToCalibrate,
  }),
  /** `:setId`: only an observer asked to mark its clips. */
  marksCalibration: ownOnly({
    name: 'marks calibration',
    parameter: 'setId',
    what: 'calibration set',
    role: 'observer',
    owns: scope.askedToCalibrate,
  }),
  /** `:personId`: the official it is about (the store still gives them released material only), or the coordinator. */
  ownEvaluation: ownOrCoordinator({
    name: 'own evaluation',
    parameter: 'personId',
    any: scope.anyPerson,
    what: 'evaluation',
    role: 'official',
    owns: scope.themselves,
  }),
  /** `:personId`: the coordinator of that person's conference. */
  coordinatorOfPerson: ownOnly({
    name: 'coordinator of the person',
    parameter: 'personId',
    what: 'person',
    role: 'coordinator',
    owns: scope.anyPerson,
  }),
  /** `:letterId`: the official it was released to, or the coordinator. */
  ownLetter: ownOrCoordinator({
    name: 'own letter',
    parameter: 'letterId',
    any: scope.anyLetter,
    what: 'letter',
    role: 'official',
    owns: scope.releasedLetter,
  }),
  /** `:observationId`: only the official it is about, once its report is released (to reply to it). */
  releasedObservationAboutMe: ownOnly({
    name: 'released observation about me',
    parameter: 'observationId',
    what: 'observation',
    role: 'official',
    owns: scope.releasedObservation,
  }),
  /** `:programId`: whoever is to watch it, in whatever role, as long as they are of its audience. */
  toWatch: {
    name: 'to watch',
    asks: { parameter: 'programId', questions: [scope.isToWatch] },
    check(request) {
      if (!request.session) throw notSignedIn();
      if (!request.holds.has(scope.isToWatch)) throw notYours('training program');
    },
  } satisfies Policy as Policy,
  /** `:replyId`: the official who wrote it, or the coordinator. */
  ownReply: ownOrCoordinator({
    name: 'own reply',
    parameter: 'replyId',
    any: scope.anyReply,
    what: 'reply',
    role: 'official',
    owns: scope.wroteReply,
  }),
  /** `:selectionId`: any of the conference, for the coordinator. */
  selectionOfConference: ownOnly({
    name: 'selection of the conference',
    parameter: 'selectionId',
    what: 'selection',
    role: 'coordinator',
    owns: scope.anySelection,
  }),
  /** `:offerId`: the official to whom a place at a game after the season was offered. */
  ownOffer: ownOnly({
    name: 'own offer',
    parameter: 'offerId',
    what: 'offer',
    role: 'official',
    owns: scope.wasOffered,
  }),
  /** `:inquiryId`: any that a team has sent, for the coordinator. */
  inquiryOfConference: ownOnly({
    name: 'inquiry of the conference',
    parameter: 'inquiryId',
    what: 'inquiry',
    role: 'coordinator',
    owns: scope.anyInquiry,
  }),
  /** `:inquiryId`: one of the contact's team, drafts too. */
  ownTeamsInquiry: ownOnly({
    name: 'own team’s inquiry',
    parameter: 'inquiryId',
    what: 'inquiry',
    role: 'team contact',
    owns: scope.inquiryOfOwnTeam,
  }),
  /** `:inquiryId`: the team that asked, or the coordinator. */
  answeredInquiry: ownOrCoordinator({
    name: 'answered inquiry',
    parameter: 'inquiryId',
    any: scope.anyInquiry,
    what: 'inquiry',
    role: 'team contact',
    owns: scope.inquiryOfOwnTeam,
  }),
  /** `:gameId`: one that the contact's team plays in. */
  gameOfOwnTeam: ownOnly({
    name: 'game of own team',
    parameter: 'gameId',
    what: 'game',
    role: 'team contact',
    owns: scope.gameOfOwnTeam,
  }),
  /** `:inquiryId`: the official who was asked for a statement. */
  statementOfInquiry: ownOnly({
    name: 'statement of inquiry',
    parameter: 'inquiryId',
    what: 'inquiry',
    role: 'official',
    owns: scope.askedForStatement,
  }),
  /** `:inquiryId`: the coordinator or observer who was asked to read it a second time. */
  secondReaderOfInquiry: {
    name: 'second reader of inquiry',
    asks: { parameter: 'inquiryId', questions: [scope.readsSecond] },
    check(request) {
      const { roles } = sessionOf(request);
      const mayRead = roles.has('coordinator') || roles.has('observer');
      if (!mayRead || !request.holds.has(scope.readsSecond)) throw notYours('inquiry');
    },
  } satisfies Policy,
  /** `:selectionId`: the coordinator or observer who sits on its committee. */
  seatOfSelection: {
    name: 'seat of selection',
    asks: { parameter: 'selectionId', questions: [scope.sitsOnCommittee] },
    check(request) {
      const { roles } = sessionOf(request);
      const maySit = roles.has('coordinator') || roles.has('observer');
      if (!maySit || !request.holds.has(scope.sitsOnCommittee)) throw notYours('selection');
    },
  } satisfies Policy,
};

/** The session, on a route whose policy has seen to it that there is one. */
export function sessionOf(request: FastifyRequest): Session {
  if (!request.session) throw notSignedIn();
  return request.session;
}

const defaultPolicy = Symbol('policy of routes that name none');

/**
 * A plugin whose own routes (static files, the API's browsable page) name no policy gets one for all of them:
 * `app.register(withPolicy(policies.open, swaggerUi), options)`. What it decorates stays inside.
 */
export function withPolicy<Options extends object>(
  policy: Policy,
  plugin: FastifyPluginAsync<Options> | FastifyPluginCallback<Options>,
): FastifyPluginAsync<Options> {
  return async (scoped, options) => {
    (scoped as unknown as Record<symbol, Policy>)[defaultPolicy] = policy;
    await scoped.register(plugin as FastifyPluginAsync<Options>, options as never);
  };
}

export type RouteWithPolicy = { method: string; url: string; policy: Policy; schema?: FastifySchema };

/** Makes routes without a policy impossible from here on, and enforces the policy that each names. */
export function enforcePolicies(app: FastifyInstance): RouteWithPolicy[] {
  const registered: RouteWithPolicy[] = [];
  app.addHook('onRoute', function (route) {
    const policy =
      route.config?.policy ?? (this as unknown as Record<symbol, Policy | undefined>)[defaultPolicy];
    const methods = [route.method].flat();
    if (!policy) {
      throw new Error(
        `The route ${methods.join(', ')} ${route.url} names no policy; add config: { policy: policies.… } (server/accounts/policy.ts).`,
      );
    }
    route.config = { ...route.config, policy };
    for (const method of methods) registered.push({ method, url: route.url, policy, schema: route.schema });
  });
  app.addHook('onRequest', async (request, reply) => {
    if (request.is404) return;
    const { policy } = request.routeOptions.config;
    // A route registered before this module was: it has no policy, so nobody may use it.
    if (!policy) throw new Error(`The route ${request.routeOptions.url} has no policy.`);
    try {
      policy.check(request);
      if (request.session?.mustEnrol && policy !== open && !request.routeOptions.config.beforeEnrolment) {
        if (request.method === 'GET' && !wantsProblem(request)) {
          return reply.redirect(`${enrolmentPage}?next=${encodeURIComponent(request.url)}`, 303);
        }
        throw mustEnrolFirst();
      }
    } catch (error) {
      const signInHelps = error instanceof Refusal && error.status === 401;
      if (!signInHelps || wantsProblem(request)) throw error;
      const next = request.method === 'GET' ? request.url : pageBefore(request);
      return reply.redirect(next === '/' ? '/sign-in' : `/sign-in?next=${encodeURIComponent(next)}`, 303);
    }
  });
  return registered;
}

/** Where a second factor is set up. */
export const enrolmentPage = '/my/account/second-factor';

const mustEnrolFirst = () =>
  new Refusal(
    403,
    `Your conference needs a second factor of its coordinators, and you have none yet. Set it up on the page ${enrolmentPage}, then send this again; nothing of it was kept.`,
  );

/** The page whose form was sent: there one can send it again, once signed in. */
function pageBefore(request: FastifyRequest): string {
  const { referer } = request.headers;
  if (referer === undefined || !URL.canParse(referer)) return '/';
  const page = new URL(referer);
  return page.host === request.host ? `${page.pathname}${page.search}` : '/';
}

/** What the route's policy asks about the thing at this address; undefined when it asks nothing. */
export function askedAbout(request: FastifyRequest): About | undefined {
  const asks = request.routeOptions.config?.policy?.asks;
  if (!asks) return undefined;
  const id = (request.params as Record<string, string | undefined>)[asks.parameter];
  if (id === undefined) {
    throw new Error(`The policy of ${request.routeOptions.url} needs the parameter :${asks.parameter}.`);
  }
  return { id, questions: asks.questions };
}
