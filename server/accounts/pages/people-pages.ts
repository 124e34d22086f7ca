import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { errorsOf, type Form, type FormErrors, fieldErrors, formOf, listOf, textOf } from '../../web/form.ts';
import { Problem } from '../../web/problem.ts';
import { personInput } from '../input.ts';
import { inviteByMail } from '../invitations-store.ts';
import { linkAddress } from '../link-address.ts';
import { fullName } from '../people-names.ts';
import {
  type AccountState,
  changePerson,
  findPerson,
  invitePerson,
  listPeople,
  makePasswordLink,
  type Person,
} from '../people-store.ts';
import { policies, sessionOf } from '../policy.ts';
import { type Role, roles, rolesText } from '../roles.ts';
import { resetSecondFactor } from '../second-factor/second-factor-store.ts';
import { teamsToChoose } from '../team-contact.ts';

const hidden = { schema: { hide: true } } as const;

/** The coordinator's pages on the conference's people. */
export async function peoplePages(app: FastifyInstance): Promise<void> {
  const { pool } = app.database;
  const mail = app.settings.SMTP_URL !== undefined;
  const forCoordinator = { config: { policy: policies.coordinator }, ...hidden };

  app.get('/people', forCoordinator, async (request, reply) => {
    const query = formOf(request.query);
    const all = await listPeople(pool, sessionOf(request).conferenceId);
    const find = textOf(query.find).trim();
    const role = textOf(query.role);
    const state = textOf(query.state);
    const shown = all.filter(
      (person) =>
        (role === '' || person.roles.includes(role as Role)) &&
        (state === '' || person.state === state) &&
        `${person.givenName} ${person.familyName} ${person.email}`.toLowerCase().includes(find.toLowerCase()),
    );
    const byRole = roles
      .map((each) => counted(all.filter((person) => person.roles.includes(each)).length, each))
      .join(', ');
    return reply.page(
      'accounts/people',
      {
        people: shown.map((person) => ({
          ...person,
          rolesText: rolesText(person.roles),
          tone: states[person.state].tone,
        })),
        summary: `${all.length === 1 ? '1 person' : `${all.length} people`}: ${byRole}`,
        find,
        roleChoices: choices(roles, role, 'any'),
        stateChoices: choices(Object.keys(states), state, 'any'),
        notice: done[textOf(query.done)],
      },
      { title: 'People' },
    );
  });

  const invitePage = async (request: FastifyRequest, reply: FastifyReply, values: Form, errors: FormErrors) =>
    reply.page(
      'accounts/invite',
      {
        values,
        errors,
        mail,
        asLink: values.how === 'link',
        roleBoxes: roleBoxes(listOf(values.roles)),
        teams: await teamChoices(request, textOf(values.teamId)),
      },
      { title: 'Invite a person' },
    );
  const teamChoices = async (request: FastifyRequest, chosen: string) =>
    (await teamsToChoose(pool, sessionOf(request).conferenceId)).map((team) => ({
      ...team,
      chosen: team.id === chosen,
    }));

  app.get('/people/invite', forCoordinator, async (request, reply) => invitePage(request, reply, {}, {}));

  app.post('/people/invite', forCoordinator, async (request, reply) => {
    const form = formOf(request.body);
    const input = personInput.safeParse(sentOf(form));
    if (!input.success) return invitePage(request, reply.code(400), form, errorsOf(input.error));
    try {
      const made = await invitePerson(pool, sessionOf(request), input.data);
      if (mail && textOf(form.how) === 'e-mail') {
        await inviteByMail(pool, sessionOf(request), [made.person.id]);
        app.outbox.wake();
        return reply.redirect('/people/invitations?done=mailed-1', 303);
      }
      return linkPage(request, reply, { ...made, purpose: 'invitation' });
    } catch (error) {
      return invitePage(request, reply.code(409), form, fieldErrors(error));
    }
  });

  const personPage = async (
    request: FastifyRequest,
    reply: FastifyReply,
    someone: Person,
    view: { values?: Form; errors?: FormErrors; notice?: string | undefined; problem?: string },
  ) => {
    const values = view.values ?? { ...someone, teamId: someone.team?.id };
    const { personId, timeZone } = sessionOf(request);
    return reply.page(
      'accounts/person',
      {
        someone,
        tone: states[someone.state].tone,
        stateMeans: states[someone.state].means,
        deactivated: someone.state === 'deactivated',
        linkLabel: states[someone.state].link,
        roleBoxes: roleBoxes(listOf(values.roles)),
        teams: await teamChoices(request, textOf(values.teamId)),
        themselves: someone.id === personId,
        zone: timeZone,
        errors: {},
        ...view,
        values,
      },
      { title: fullName(someone) },
    );
  };
  const someoneOf = (request: FastifyRequest) =>
    findPerson(pool, sessionOf(request).conferenceId, personIdOf(request));

  app.get('/people/:personId', forPerson, async (request, reply) => {
    const notice = done[textOf(formOf(request.query).done)];
    return personPage(request, reply, await someoneOf(request), { notice });
  });

  app.post('/people/:personId', forPerson, async (request, reply) => {
    const form = formOf(request.body);
    const input = personInput.safeParse(sentOf(form));
    const again = async (status: number, errors: FormErrors) =>
      personPage(request, reply.code(status), await someoneOf(request), { values: form, errors });
    if (!input.success) return again(400, errorsOf(input.error));
    try {
      await changePerson(pool, sessionOf(request), personIdOf(request), input.data);
    } catch (error) {
      return again(409, fieldErrors(error));
    }
    return reply.redirect(`/people/${personIdOf(request)}?done=saved`, 303);
  });

  for (const [path, active] of [
    ['deactivate', false],
    ['activate', true],
  ] as const) {
    app.post(`/people/:personId/${path}`, forPerson, async (request, reply) => {
      try {
        await changePerson(pool, sessionOf(request), personIdOf(request), { active });
      } catch (error) {
        if (!(error instanceof Problem) || error.status !== 409) throw error;
        return personPage(request, reply.code(409), await someoneOf(request), { problem: error.message });
      }
      return reply.redirect(`/people/${personIdOf(request)}?done=${path}d`, 303);
    });
  }

  app.post('/people/:personId/second-factor/reset', forPerson, async (request, reply) => {
    try {
      await resetSecondFactor(pool, sessionOf(request), personIdOf(request));
    } catch (error) {
      if (!(error instanceof Problem) || error.status !== 409) throw error;
      return personPage(request, reply.code(409), await someoneOf(request), { problem: error.message });
    }
    app.outbox.wake();
    return reply.redirect(`/people/${personIdOf(request)}?done=reset`, 303);
  });

  app.post('/people/:personId/link', forPerson, async (request, reply) =>
    linkPage(request, reply, await makePasswordLink(pool, sessionOf(request), personIdOf(request))),
  );

  async function linkPage(
    request: FastifyRequest,
    reply: FastifyReply,
    made: { person: Person; purpose: 'invitation' | 'reset'; token: string; expiresAt: Date },
  ) {
    return reply.page(
      'accounts/link-made',
      {
        someone: made.person,
        invitation: made.purpose === 'invitation',
        url: linkAddress(request, made.purpose, made.token),
        expiresAt: made.expiresAt,
        zone: sessionOf(request).timeZone,
      },
      { title: 'Link to hand over', scripts: ['copy'] },
    );
  }
}

const forPerson = { config: { policy: policies.coordinatorOfPerson }, ...hidden };

const states: Record<AccountState, { tone: string; means: string; link: string }> = {
  active: { tone: 'good', means: 'They can sign in.', link: 'Make a link for a new password' },
  invited: {
    tone: 'warn',
    means: 'They have not used their invitation yet.',
    link: 'Make a new invitation link',
  },
  'not invited': { tone: '', means: 'They have no password and no working invitation.', link: 'Invite' },
  deactivated: { tone: 'bad', means: 'They cannot sign in.', link: '' },
};

const roleMeans: Record<Role, string> = {
  coordinator: 'Runs the conference: sees and changes everything in it.',
  observer: 'Reports on games assigned to them; sees only their own assignments and reports.',
  official: 'Works games; sees only their own released evaluation.',
  'team contact': 'Asks for one team about plays of its own games; sees only that team’s inquiries.',
};

const done: Record<string, string> = {
  saved: 'Saved.',
  deactivated: 'Deactivated and signed out everywhere.',
  activated: 'Activated.',
  reset: 'The second factor is gone; their password alone lets them in now. They are told.',
};

/** What a form sends of a person; no team chosen is none. */
const sentOf = (form: Form) => ({
  ...form,
  roles: listOf(form.roles),
  teamId: textOf(form.teamId) === '' ? undefined : form.teamId,
});

const counted = (count: number, what: string) => `${count} ${what}${count === 1 ? '' : 's'}`;
const roleBoxes = (checked: string[]) =>
  roles.map((role) => ({
    value: role,
    label: role[0]!.toUpperCase() + role.slice(1),
    means: roleMeans[role],
    checked: checked.includes(role),
  }));
const choices = (values: readonly string[], chosen: string, none: string) => [
  { value: '', label: none, chosen: chosen === '' },
  ...values.map((value) => ({ value, label: value, chosen: value === chosen })),
];

const personIdOf = (request: FastifyRequest) => (request.params as { personId: string }).personId;
