import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { renderSVG } from 'uqr';
import { publicAddress } from '../../mail/mailer.ts';
import { formOf, textOf } from '../../web/form.ts';
import {
  groupStates,
  type HandedOver,
  type InvitationGroup,
  type InvitationState,
  type Invited,
  inviteByMail,
  listInvited,
  makeInvitationLinks,
  withdrawInvitation,
} from '../invitations-store.ts';
import { linkAddress } from '../link-address.ts';
import { policies, sessionOf } from '../policy.ts';
import { rolesText } from '../roles.ts';

const hidden = { schema: { hide: true } } as const;
const path = '/people/invitations';

/** Inviting everybody in one step, and who has come. */
export async function invitationPages(app: FastifyInstance): Promise<void> {
  const { pool } = app.database;
  const forCoordinator = { config: { policy: policies.coordinator }, ...hidden };
  const forPerson = { config: { policy: policies.coordinatorOfPerson }, ...hidden };
  const mail = app.settings.SMTP_URL !== undefined;

  const listPage = async (request: FastifyRequest, reply: FastifyReply, view: object) => {
    const { conferenceId, timeZone: zone } = sessionOf(request);
    const all = await listInvited(pool, conferenceId);
    const chosen = textOf(formOf(request.query).state);
    const shown = chosen === '' ? all : all.filter(({ state }) => state === chosen);
    return reply.page(
      'accounts/invitations',
      {
        people: shown.map((person) => ({ ...person, ...standing(person, mail) })),
        all: all.length,
        came: all.filter(({ state }) => state === 'came').length,
        waiting: all.some(({ state }) => state === 'on its way'),
        groups: groupChoices(all),
        states: [
          { value: '', label: `all (${all.length})`, chosen: chosen === '' },
          ...stateChoices(all, chosen),
        ],
        mail,
        address: publicAddress(app.settings),
        publicUrl: app.settings.PUBLIC_URL,
        zone,
        ...view,
      },
      { title: 'Invitations', width: 'wide' },
    );
  };

  app.get(path, forCoordinator, (request, reply) =>
    listPage(request, reply, { notice: noticeOf(textOf(formOf(request.query).done)) }),
  );

  app.post(path, forCoordinator, async (request, reply) => {
    const form = formOf(request.body);
    const group = textOf(form.group);
    const how = textOf(form.how);
    if (!isGroup(group) || (how !== 'e-mail' && how !== 'sheet')) {
      return listPage(request, reply.code(400), { problem: 'Choose whom to invite, and how.' });
    }
    const actor = sessionOf(request);
    const people = (await listInvited(pool, actor.conferenceId)).filter(({ state }) =>
      groupStates[group].includes(state),
    );
    if (people.length === 0) {
      return listPage(request, reply.code(409), { problem: 'There is nobody left to invite in that group.' });
    }
    if (how === 'e-mail') {
      if (!mail) return listPage(request, reply.code(409), { problem: noMail });
      const sent = await inviteByMail(
        pool,
        actor,
        people.map(({ personId }) => personId),
      );
      app.outbox.wake();
      return reply.redirect(`${path}?done=mailed-${sent}`, 303);
    }
    return sheetPage(request, reply, await makeInvitationLinks(pool, actor, people));
  });

  async function sheetPage(request: FastifyRequest, reply: FastifyReply, made: readonly HandedOver[]) {
    const { conferenceName, timeZone } = sessionOf(request);
    const cards = made.map(({ person, token, expiresAt }) => {
      const url = linkAddress(request, 'invitation', token);
      return { ...person, rolesText: rolesText(person.roles), url, square: squareOf(url), expiresAt };
    });
    return reply.page(
      'accounts/invitation-sheet',
      { cards, conference: conferenceName, zone: timeZone },
      { title: 'Sheet of invitations', width: 'wide', scripts: ['print'] },
    );
  }

  app.post('/people/:personId/send-invitation', forPerson, async (request, reply) => {
    if (!mail) return listPage(request, reply.code(409), { problem: noMail });
    const sent = await inviteByMail(pool, sessionOf(request), [personIdOf(request)]);
    app.outbox.wake();
    return reply.redirect(`${path}?done=mailed-${sent}`, 303);
  });

  app.post('/people/:personId/withdraw-invitation', forPerson, async (request, reply) => {
    await withdrawInvitation(pool, sessionOf(request), personIdOf(request));
    return reply.redirect(`${path}?done=withdrawn`, 303);
  });
}

const noMail =
  'No mail server is set up (SMTP_URL), so nothing can be sent. Print the sheet, or make a link for one person.';

/** A square for a telephone's camera (ISO/IEC 18004), with the quiet zone of four modules that the standard asks for. */
const squareOf = (url: string): string => renderSVG(url, { ecc: 'M', border: 4 });

const tones: Record<InvitationState, string> = {
  'not invited': '',
  'on its way': 'warn',
  'could not be sent': 'bad',
  invited: 'warn',
  'ran out': 'bad',
  withdrawn: '',
  came: 'good',
};

/** What the list says of a person, and what can be done next. */
function standing({ state }: Invited, mail: boolean) {
  const open = state !== 'came';
  return {
    tone: tones[state],
    isFailed: state === 'could not be sent',
    maySend: open && mail && state !== 'on its way',
    sendLabel: state === 'not invited' || state === 'withdrawn' ? 'Send the invitation' : 'Send again',
    linkLabel: state === 'not invited' || state === 'withdrawn' ? 'Make a link' : 'Make a new link',
    open,
    mayWithdraw: state === 'invited' || state === 'on its way' || state === 'could not be sent',
  };
}

const groupLabels: Record<InvitationGroup, string> = {
  'not invited yet': 'Those without a link that works',
  'not come': 'Everybody who has not come yet; links they have stop working',
};
const isGroup = (text: string): text is InvitationGroup => Object.hasOwn(groupStates, text);

/** The groups that hold somebody, the first one chosen; one group alone when both are the same people. */
function groupChoices(all: readonly Invited[]) {
  const groups = (Object.keys(groupStates) as InvitationGroup[]).map((value) => ({
    value,
    label: groupLabels[value],
    people: all.filter(({ state }) => groupStates[value].includes(state)).length,
  }));
  return groups
    .filter(({ people }, index) => people > 0 && (index === 0 || people > groups[0]!.people))
    .map((group, index) => ({ ...group, chosen: index === 0 }));
}

function stateChoices(all: readonly Invited[], chosen: string) {
  return (Object.keys(tones) as InvitationState[])
    .map((value) => ({ value, people: all.filter(({ state }) => state === value).length }))
    .filter(({ value, people }) => people > 0 || value === chosen)
    .map(({ value, people }) => ({ value, label: `${value} (${people})`, chosen: value === chosen }));
}

function noticeOf(done: string): string | undefined {
  if (done === 'withdrawn') return 'Withdrawn: the link no longer works.';
  const mailed = /^mailed-(\d{1,6})$/.exec(done)?.[1];
  if (mailed === undefined) return undefined;
  if (mailed === '0') return 'That mail is on its way already.';
  return mailed === '1'
    ? '1 mail is on its way; this list says when it has left, or why not.'
    : `${mailed} mails are on their way; this list says when each has left, or why not.`;
}

const personIdOf = (request: FastifyRequest) => (request.params as { personId: string }).personId;
