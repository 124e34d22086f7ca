import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../../accounts/policy.ts';
import type { Season } from '../../database/generated/client.ts';
import { sharesIn } from '../../duties/compiled-rubric.ts';
import { consequenceInWords, consequences } from '../../duties/consequence.ts';
import { lackingFor } from '../../duties/crew-without-duty.ts';
import { type Duty, dutyCategories } from '../../duties/duty.ts';
import { dutySentence } from '../../duties/duty-sentence.ts';
import { compileRubric, fullCrew } from '../../duties/opportunities.ts';
import { rubricDifference } from '../../duties/rubric-difference.ts';
import { positionsOf } from '../../football/crews.ts';
import { type CrewSize, crewSizes, type Position, positions } from '../../football/positions.ts';
import { dutyFingerprint } from '../../rubric/fingerprints.ts';
import { readVersions } from '../../rubric/read-rubric.ts';
import { readSteps } from '../../schedule/season-steps.ts';
import { typedText } from '../../text/typed-text.ts';
import { numberOf } from '../../web/whole-number.ts';
import { readDutyFigures } from '../duty-figures.ts';
import { previewOnSeason } from '../season-preview.ts';
import { previewView } from './preview-view.ts';
import { dutyOf, ofDuty, ofSeason, rubricOf, sendToBegin } from './shown-rubric.ts';

/** The rubric by position, its versions, and its duties one by one. */
export async function rubricPages(app: FastifyInstance): Promise<void> {
  const pages = app.withTypeProvider<ZodTypeProvider>();
  const { database } = app;
  const forAll = { policy: policies.staff };
  sendToBegin(app);

  const isConfirmed = async ({ conferenceId, id }: Season) =>
    (await readSteps(database.pool, conferenceId, id)).get('rubric') === 'confirmed';

  const mayChange = (request: FastifyRequest) => sessionOf(request).roles.has('coordinator');

  pages.get(
    '/seasons/:seasonId/rubric',
    {
      config: forAll,
      schema: {
        hide: true,
        params: ofSeason,
        querystring: z.object({
          position: z.enum(positions).default('referee'),
          crew: z.coerce.number().pipe(z.literal(crewSizes)).optional(),
          version: numberOf('version').optional(),
          done: typedText({ most: 200 }).optional(),
        }),
      },
    },
    async (request, reply) => {
      const { season, rubric } = await rubricOf(
        database,
        request,
        request.params.seasonId,
        request.query.version,
      );
      const versions = await readVersions(database.pool, season.conferenceId, season.id);
      const isCurrent = versions[0]!.number === rubric.number;
      const crewSize = request.query.crew ?? (season.crewSize as CrewSize);
      const present = positionsOf(crewSize);
      const position = present.includes(request.query.position) ? request.query.position : 'referee';
      const figures = await readDutyFigures(database.pool, season.conferenceId, season.id, position);
      const owed = dutiesOwedBy(rubric.duties, position, crewSize);
      const whole = owed.reduce(
        (sum, { duty }) => sum + duty.weight * (figures.get(duty.key)?.perGame ?? 0),
        0,
      );
      const categories = dutyCategories.map((category) => ({
        category,
        slug: category.replaceAll(' ', '-'),
        duties: owed
          .filter(({ duty }) => duty.category === category)
          .map(({ duty, coversFor }) => {
            const perGame = figures.get(duty.key)?.perGame;
            return {
              ...duty,
              coversFor,
              sentence: dutySentence(duty),
              perGame,
              sharePercent:
                perGame === undefined || whole === 0 ? null : (100 * duty.weight * perGame) / whole,
            };
          }),
      }));
      return reply.page(
        'rubric-editing/rubric',
        {
          season,
          rubric,
          next: rubric.number + 1,
          position,
          crewSize,
          tabs: present.map((name) => ({ name, here: name === position })),
          sizes: crewSizes.map((size) => ({ size, here: size === crewSize })),
          categories: categories.filter(({ duties }) => duties.length > 0),
          dutyCount: owed.length,
          mayChange: mayChange(request) && isCurrent,
          toConfirm:
            mayChange(request) && isCurrent && season.state !== 'closed' && !(await isConfirmed(season)),
          lacks: lackingFor(compileRubric(rubric.duties), fullCrew(crewSize))?.sentence,
          isCurrent,
          atVersion: isCurrent ? '' : `?version=${rubric.number}`,
          andVersion: isCurrent ? '' : `&version=${rubric.number}`,
          notice: doneNotices[request.query.done ?? ''],
          versions,
        },
        { title: `What is expected of the ${position}`, width: 'wide' },
      );
    },
  );

  pages.get(
    '/seasons/:seasonId/rubric/versions/:number',
    {
      config: forAll,
      schema: { hide: true, params: ofSeason.extend({ number: numberOf('number') }) },
    },
    async (request, reply) => {
      const { seasonId, number } = request.params;
      const { season, rubric } = await rubricOf(database, request, seasonId, number);
      const earlier =
        number === 1 ? undefined : (await rubricOf(database, request, seasonId, number - 1)).rubric;
      const before = earlier?.duties ?? [];
      return reply.page(
        'rubric-editing/version',
        {
          season,
          rubric,
          isFirst: number === 1,
          earlier: number - 1,
          weightChanges: consequences
            .map((one) => ({
              words: consequenceInWords[one],
              before: earlier?.consequenceWeights[one],
              after: rubric.consequenceWeights[one],
            }))
            .filter(({ before, after }) => before !== undefined && before !== after),
          differences: rubricDifference(before, rubric.duties).map((one) => ({
            ...one,
            isRemoved: one.kind === 'removed',
            tone: one.kind === 'added' ? 'good' : one.kind === 'removed' ? 'bad' : 'warn',
          })),
        },
        { title: `Rubric version ${number}` },
      );
    },
  );

  pages.get(
    '/seasons/:seasonId/rubric/duties/:dutyKey',
    {
      config: forAll,
      schema: {
        hide: true,
        params: ofDuty,
        querystring: z.object({ version: numberOf('version').optional() }),
      },
    },
    async (request, reply) => {
      const { version } = request.query;
      const { season, rubric, duty } = await dutyOf(database, request, request.params, version);
      const [newest] = await readVersions(database.pool, season.conferenceId, season.id);
      const isCurrent = newest!.number === rubric.number;
      const coordinator = mayChange(request) && isCurrent;
      const preview = coordinator
        ? previewView(await previewOnSeason(database, app.calculator, season, duty, duty))
        : null;
      return reply.page(
        'rubric-editing/duty',
        {
          season,
          rubric,
          duty,
          sentence: dutySentence(duty),
          mayChange: coordinator,
          isCurrent,
          preview,
          seen: dutyFingerprint(duty),
        },
        { title: duty.title },
      );
    },
  );
}

const doneNotices: Record<string, { tone: string; text: string }> = {
  begun: {
    tone: 'good',
    text: 'The rubric is begun. Look through what it expects of each position, change what your conference does otherwise, then confirm it.',
  },
  confirmed: { tone: 'good', text: 'The rubric is confirmed. It can still be changed at any time.' },
  'playing-rules': { tone: 'good', text: 'How the conference plays was saved.' },
  added: { tone: 'good', text: 'The duty was added.' },
  changed: { tone: 'good', text: 'The duty was changed.' },
  removed: { tone: 'good', text: 'The duty was removed. Reports filed with it keep it.' },
  'changed-meanwhile': {
    tone: 'warn',
    text: 'The duty was changed by somebody else in the meantime, so it was not removed. Look at it again.',
  },
};

function dutiesOwedBy(duties: readonly Duty[], position: Position, crewSize: CrewSize) {
  const rubric = compileRubric(duties);
  const shares = sharesIn(rubric, fullCrew(crewSize));
  return duties.flatMap((duty, number) => {
    const own = shares[number]!.filter((share) => share.owedBy.includes(position));
    if (own.length === 0) return [];
    return [{ duty, coversFor: own.some((share) => share.named === position) ? undefined : own[0]!.named }];
  });
}
