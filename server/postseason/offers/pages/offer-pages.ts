import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../../accounts/policy.ts';
import { errorsOf, type FormErrors, formOf, textOf } from '../../../web/form.ts';
import { Problem } from '../../../web/problem.ts';
import { stateTone } from '../../candidate-words.ts';
import { readBasis } from '../../committee/stores/basis-store.ts';
import { readDeclined, readPassOvers } from '../../committee/stores/pass-over-store.ts';
import { refusedIn } from '../../pages/doing.ts';
import { ofSelection } from '../../postseason-schemas.ts';
import { ballotsAreOpen, isOver } from '../../selection.ts';
import { readMaterial } from '../../stores/material-store.ts';
import { readNames } from '../../stores/names-store.ts';
import { readSelection } from '../../stores/selection-rows.ts';
import {
  holdsPlace,
  moreTimeSchema,
  moveSchema,
  offerSchema,
  recordedSchema,
  withdrawalSchema,
} from '../offer.ts';
import { moveUp } from '../stores/moving-store.ts';
import { readOffers } from '../stores/offer-rows.ts';
import { offerPlaces } from '../stores/offering-store.ts';
import { recordAnswer } from '../stores/recording-store.ts';
import { giveMoreTime, withdrawOffer } from '../stores/standing-store.ts';
import { moveOf, offersView, type Typed } from './offer-view.ts';

const done = {
  offered: 'Offered; each official is told.',
  withdrawn: 'Withdrawn; the official is told. The place is free: choose another, then offer it.',
  moved: 'Moved up and offered; they are told of the one new place.',
  recorded: 'Written down as you were told; the official is told so, too.',
  later: 'There is more time to answer; the official is told.',
} as const;

interface Told {
  readonly refused?: string | undefined;
  readonly done?: string | undefined;
  readonly typed?: Typed;
  readonly errors?: FormErrors;
  readonly values?: { readonly answerBy: string; readonly embargoUntil: string };
}

/** What was offered to whom, how it stands, and what a coordinator does next. */
export async function offerPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { pool } = app.database;
  const config = { policy: policies.selectionOfConference };
  const at = (selectionId: string, then = '') => `/postseason/${selectionId}/offers${then}`;

  async function show(request: FastifyRequest, reply: FastifyReply, selectionId: string, told: Told) {
    const { conferenceId, timeZone } = sessionOf(request);
    const selection = await readSelection(pool, conferenceId, selectionId);
    const offers = await readOffers(pool, conferenceId, selectionId);
    const names = await readNames(pool, conferenceId);
    const whereFree = {
      material: () => readMaterial(pool, app.results, conferenceId, selection),
      compared: async () => {
        const basis = await readBasis(pool, conferenceId, selectionId);
        const recorded = await readPassOvers(pool, conferenceId, selectionId);
        return basis && { basis, recorded, declined: await readDeclined(pool, conferenceId, selectionId) };
      },
    };
    const games = await offersView(selection, offers, names, whereFree, told.typed ?? null);
    const places = games.flatMap((game) => game.places);
    const decided = ballotsAreOpen(selection) && !isOver(selection);
    return reply.page(
      'postseason/offers',
      {
        ...{ selection, games, timeZone, decided, errors: {}, ...told },
        tone: stateTone[selection.state],
        isClosed: isOver(selection),
        toOffer: decided ? places.filter(({ canOffer }) => canOffer).length : 0,
        counts: {
          places: places.length,
          standing: offers.filter(({ standing }) => holdsPlace(standing)).length,
          accepted: offers.filter(({ standing }) => standing === 'accepted').length,
          waiting: offers.filter(({ standing }) => standing === 'waiting').length,
          overdue: offers.filter(({ standing }) => standing === 'overdue').length,
          free: places.filter(({ free }) => free).length,
        },
        values: told.values ?? {
          answerBy: selection.answerBy ?? '',
          embargoUntil: selection.embargoUntil ?? '',
        },
      },
      { title: `Offers: ${selection.title}`, width: 'wide' },
    );
  }

  pages.get(
    '/postseason/:selectionId/offers',
    {
      config,
      schema: { hide: true, params: ofSelection, querystring: z.object({ done: z.string().optional() }) },
    },
    async (request, reply) => {
      const said = Object.entries(done).find(([key]) => key === request.query.done)?.[1];
      return show(request, reply, request.params.selectionId, { done: said });
    },
  );

  pages.post(
    '/postseason/:selectionId/offers',
    { config, schema: { hide: true, params: ofSelection } },
    async (request, reply) => {
      const { selectionId } = request.params;
      const form = formOf(request.body);
      const values = { answerBy: textOf(form.answerBy), embargoUntil: textOf(form.embargoUntil) };
      const parsed = offerSchema.safeParse({
        place: placeIn(textOf(form.place)),
        answerBy: values.answerBy || null,
        embargoUntil: values.embargoUntil || null,
      });
      if (!parsed.success) {
        reply.code(400);
        return show(request, reply, selectionId, { errors: errorsOf(parsed.error), values });
      }
      try {
        await offerPlaces(pool, sessionOf(request), selectionId, parsed.data);
      } catch (error) {
        if (error instanceof Problem && error.status === 400) {
          reply.code(400);
          const errors = Object.fromEntries(error.errors.map(({ field, message }) => [field, message]));
          return show(request, reply, selectionId, { errors, values });
        }
        const { status, sentence } = refusedIn(error);
        reply.code(status);
        return show(request, reply, selectionId, { refused: sentence, values });
      }
      return reply.redirect(at(selectionId, '?done=offered'), 303);
    },
  );

  const ofOffer = ofSelection.extend({ offerId: z.uuid() });
  type Form = Readonly<Record<string, string>>;
  /** One form beside a place: what is refused is shown with what was typed. */
  const act = <Address extends z.infer<typeof ofSelection>>(
    path: string,
    params: z.ZodType<Address>,
    form: Typed['form'],
    fields: readonly string[],
    then: keyof typeof done,
    work: (request: FastifyRequest, address: Address, values: Form) => Promise<void>,
  ): void => {
    pages.post(
      `/postseason/:selectionId/offers/${path}`,
      { config, schema: { hide: true, params } },
      async (request, reply) => {
        const address = request.params as Address;
        const sent = formOf(request.body);
        const values: Form = Object.fromEntries(fields.map((field) => [field, textOf(sent[field])]));
        try {
          await work(request, address, values);
        } catch (error) {
          const { status, sentence } = refusedIn(error);
          reply.code(status);
          const of = 'offerId' in address ? String(address.offerId) : placeTyped(values);
          return show(request, reply, address.selectionId, {
            refused: sentence,
            typed: { form, of, values },
          });
        }
        return reply.redirect(at(address.selectionId, `?done=${then}`), 303);
      },
    );
  };

  act(':offerId/withdraw', ofOffer, 'withdraw', ['reason'], 'withdrawn', async (request, address, values) => {
    const { reason } = read(withdrawalSchema, values);
    await withdrawOffer(pool, sessionOf(request), address.selectionId, address.offerId, reason);
  });
  act(':offerId/more-time', ofOffer, 'more-time', ['answerBy'], 'later', async (request, address, values) => {
    const { answerBy } = read(moreTimeSchema, values);
    await giveMoreTime(pool, sessionOf(request), address.selectionId, address.offerId, answerBy);
  });
  const telephone = ['answer', 'note', 'reason'];
  act(':offerId/telephone', ofOffer, 'telephone', telephone, 'recorded', async (request, address, values) => {
    const typed = read(recordedSchema, values);
    await recordAnswer(pool, sessionOf(request), address.selectionId, address.offerId, typed);
  });
  const moving = ['place', 'alternate', 'reason', 'answerBy'];
  act('move-up', ofSelection, 'move-up', moving, 'moved', async (request, { selectionId }, values) => {
    const place = placeIn(values.place ?? '');
    const typed = read(moveSchema, { ...place, ...values, answerBy: values.answerBy || null });
    await moveUp(pool, sessionOf(request), selectionId, typed);
  });
}

const placeTyped = ({ place = '', alternate = '' }: Readonly<Record<string, string>>): string => {
  const of = placeIn(place);
  return of ? moveOf(of.gameId, of.slot, alternate) : '';
};

/** Of the button of one place: its game and slot. Without one, all places are meant. */
function placeIn(text: string): { gameId: string; slot: string } | null {
  const [gameId = '', ...slot] = text.split(' ');
  return text === '' ? null : { gameId, slot: slot.join(' ') };
}

/** @throws Problem 400 with what is wrong, to be shown on the page */
function read<Typed>(schema: z.ZodType<Typed>, typed: object): Typed {
  const parsed = schema.safeParse(typed);
  if (parsed.success) return parsed.data;
  throw new Problem(
    400,
    'The request has errors',
    parsed.error.issues.map(({ message }) => message).join('; '),
    parsed.error.issues.map((issue) => ({ field: issue.path.join('.'), message: issue.message })),
  );
}
