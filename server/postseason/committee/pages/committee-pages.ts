import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../../accounts/policy.ts';
import { formOf, textOf } from '../../../web/form.ts';
import { stateTone } from '../../candidate-words.ts';
import { doing, refusedIn } from '../../pages/doing.ts';
import { ofSelection } from '../../postseason-schemas.ts';
import { ballotsAreOpen, isAt, isOver, whatDecides } from '../../selection.ts';
import { readNames } from '../../stores/names-store.ts';
import { readSelection } from '../../stores/selection-rows.ts';
import {
  addMember,
  readConflicts,
  readEligibleMembers,
  readMembers,
  removeMember,
  SomethingWritten,
} from '../stores/member-store.ts';
import { endPreparing, openBallots, readOpenedBecause } from '../stores/step-store.ts';
import { longestReason, wordsTyped } from '../words-typed.ts';

/** Who sits on a selection's committee, how far each is, and its two steps: to begin sealed voting, and to open all ballots. */
export async function committeePages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.selectionOfConference };
  const address = (id: string) => `/postseason/${id}/committee`;

  async function show(
    request: FastifyRequest,
    reply: FastifyReply,
    selectionId: string,
    told: { refused?: string; reason?: string; step?: string; leaving?: string | null } = {},
  ) {
    const { conferenceId, personId, timeZone } = sessionOf(request);
    const selection = await readSelection(pool, conferenceId, selectionId);
    const members = await readMembers(pool, conferenceId, selectionId);
    const opened = ballotsAreOpen(selection);
    const over = isOver(selection);
    // Who is in conflict with whom is part of what is sealed.
    const conflicts = opened ? await readConflicts(pool, conferenceId, selectionId) : [];
    const { people } = await readNames(pool, conferenceId);
    const sealed = members.filter(({ sealedAt }) => sealedAt !== null).length;
    return reply.page(
      'postseason/committee',
      {
        ...{ selection, whatDecides, timeZone, opened, sealed, ...told },
        openedBecause: await readOpenedBecause(pool, conferenceId, selectionId),
        tone: stateTone[selection.state],
        preparing: isAt(selection, 'preparing'),
        voting: isAt(selection, 'sealed voting'),
        noGame: selection.games.length === 0,
        all: members.length > 0 && sealed === members.length,
        mySeat: members.some((one) => one.personId === personId),
        members: members.map((one) => ({
          ...one,
          mayGo: !opened && !over && one.sealedAt === null,
          conflicts: conflicts
            .filter(({ memberId }) => memberId === one.personId)
            .map(({ officialId, reason }) => ({ name: people.get(officialId) ?? '', reason })),
        })),
        toAdd:
          opened || over
            ? []
            : (await readEligibleMembers(pool, conferenceId))
                .filter(({ id }) => !members.some((one) => one.personId === id))
                .map(({ id, name, coordinator }) => ({
                  id,
                  name: `${name} (${coordinator ? 'coordinator' : 'observer, as an invited reader'})`,
                })),
      },
      { title: `Committee of ${selection.title}` },
    );
  }

  pages.get(
    '/postseason/:selectionId/committee',
    { config, schema: { hide: true, params: ofSelection } },
    async (request, reply) => show(request, reply, request.params.selectionId),
  );

  const posts = (
    step: string,
    work: (request: FastifyRequest, selectionId: string, reason: string) => Promise<void>,
    next: (selectionId: string) => string = address,
  ): void => {
    pages.post(
      `/postseason/:selectionId/committee/${step}`,
      { config, schema: { hide: true, params: ofSelection } },
      async (request, reply) => {
        const { selectionId } = request.params;
        const reason = textOf(formOf(request.body).reason);
        return doing(
          reply,
          async () => {
            await work(request, selectionId, wordsTyped(reason, 'reason', longestReason, 'the reason'));
            return next(selectionId);
          },
          (refused) => show(request, reply, selectionId, { refused, reason, step }),
        );
      },
    );
  };

  const personIn = (request: FastifyRequest) => {
    const parsed = z.uuid().safeParse(textOf(formOf(request.body).personId));
    return parsed.success ? parsed.data : '00000000-0000-0000-0000-000000000000';
  };
  posts('members', (request, id) => addMember(pool, sessionOf(request), id, personIn(request)));
  pages.post(
    '/postseason/:selectionId/committee/leave',
    { config, schema: { hide: true, params: ofSelection } },
    async (request, reply) => {
      const { selectionId } = request.params;
      const sure = textOf(formOf(request.body).sure) === 'yes';
      try {
        await removeMember(pool, sessionOf(request), selectionId, personIn(request), sure);
      } catch (error) {
        const { status, sentence } = refusedIn(error);
        reply.code(status);
        const leaving = error instanceof SomethingWritten ? error.personId : null;
        return show(request, reply, selectionId, { refused: sentence, leaving });
      }
      return reply.redirect(address(selectionId), 303);
    },
  );
  posts('begin', (request, id) =>
    endPreparing(pool, app.results, sessionOf(request), id, { withCommittee: true }),
  );
  posts(
    'without',
    (request, id, reason) =>
      endPreparing(pool, app.results, sessionOf(request), id, { withCommittee: false, reason }),
    (id) => `/postseason/${id}/decisions`,
  );
  posts(
    'open',
    (request, id, reason) => openBallots(pool, sessionOf(request), id, reason),
    (id) => `/postseason/${id}/decisions`,
  );
}
