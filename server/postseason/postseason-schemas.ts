import { z } from 'zod';
import { positions } from '../football/positions.ts';
import { selectionRuleNames } from '../selection/finding.ts';
import { rulesSchema, weightsSchema } from '../selection/rules.ts';
import { selectionStates } from './selection.ts';

export const tags = ['postseason'];
export const ofSeason = z.object({ seasonId: z.uuid() });
export const ofSelection = z.object({ selectionId: z.uuid() });
export const ofGame = ofSelection.extend({ selectionGameId: z.uuid() });

const placed = {
  gameId: z.uuid(),
  slot: z.string().describe('A position, or "alternate 1" and so on.'),
  position: z.enum(positions).describe('In which they are graded.'),
  officialId: z.uuid(),
};
const gameAnswer = z.object({
  id: z.uuid(),
  name: z.string(),
  playedOn: z.string(),
  kickoff: z.string(),
  homeTeamId: z.uuid().nullable(),
  homeName: z.string(),
  visitorTeamId: z.uuid().nullable(),
  visitorName: z.string(),
  venueId: z.uuid().nullable(),
  place: z.string(),
  latitude: z.number().nullable(),
  longitude: z.number().nullable(),
  crewSize: z.int(),
  alternates: z.int(),
  wholeCrew: z.boolean(),
});

export const selectionAnswer = z.object({
  id: z.uuid(),
  seasonId: z.uuid(),
  title: z.string(),
  state: z.enum(selectionStates),
  answerBy: z.string().nullable(),
  embargoUntil: z.string().nullable(),
  rules: z.object(rulesSchema.shape),
  weights: z.object(weightsSchema.shape),
  revision: z.int().describe('Raised by each change; sent back with the next one.'),
  proposedAt: z.string().nullable(),
  madeAt: z.string(),
  games: z.array(gameAnswer),
  choices: z.array(z.object({ ...placed, reason: z.string(), chosenBy: z.uuid(), chosenAt: z.string() })),
});

export const listAnswer = z.array(
  z.object({
    id: z.uuid(),
    title: z.string(),
    state: z.enum(selectionStates),
    games: z.int(),
    places: z.int(),
    chosen: z.int(),
    from: z.string().nullable(),
    to: z.string().nullable(),
  }),
);

const share = z.number().min(0).max(1).nullable();
const holds = z.enum(['met', 'not met', 'not known']);

export const candidatesAnswer = z.object({
  tierRule: z.string(),
  model: z.string().describe('That the season is graded by: of ranks, tiers and `chance`.'),
  otherModel: z.string().describe('Of `otherChance`.'),
  top: z.int().describe('How many places the chances are of.'),
  inputRevision: z.int().describe('The season’s reports that all of it rests on.'),
  candidates: z.array(
    z.object({
      officialId: z.uuid(),
      name: z.string(),
      tier: z.int().nullable().describe('The best is 1; null where not ranked. A tier is not a rank.'),
      games: z.int(),
      grade: z.object({ grade: z.number(), low: z.number(), high: z.number() }).nullable(),
      rank: z.object({ place: z.int(), low: z.number(), high: z.number() }).nullable(),
      chance: share,
      otherChance: share,
      crews: z.array(z.string()),
      lately: z.int().nullable().describe('Postseason games of the last three seasons; null: not known.'),
      miles: z.number().nullable().describe('One way, as the crow flies.'),
      points: z.number().nullable().describe('By the weights; fewer are better.'),
      eligible: holds,
      leftOut: z.boolean().describe('The program proposes them for no place.'),
      findings: z.array(
        z.object({ rule: z.enum(selectionRuleNames), holds, why: z.string(), leavesOut: z.boolean() }),
      ),
    }),
  ),
});

const cost = z.object({
  chance: z.number(),
  tier: z.number(),
  rotation: z.number(),
  travel: z.number(),
  total: z.number(),
});
export const proposalAnswer = z.object({
  choices: z.array(z.object({ ...placed, cost, tier: z.int().nullable(), miles: z.number().nullable() })),
  fixed: z.array(z.object(placed)).describe('Chosen by people before, and left as they are.'),
  unfilled: z.array(
    z.object({
      gameId: z.uuid(),
      slot: z.string(),
      graded: z.int(),
      leftOutBy: z.array(
        z.object({ rule: z.enum(selectionRuleNames), officials: z.int(), notKnown: z.int() }),
      ),
      elsewhere: z.int(),
      why: z.string(),
    }),
  ),
  weights: z.object(weightsSchema.shape),
  total: z.number().describe('Points of all that is proposed; fewer are better.'),
  best: z
    .boolean()
    .describe(
      'No proposal under these rules and weights fills more positions, or as many with fewer points in them; alternates are the best that these leave.',
    ),
  inputRevision: z.int(),
});

export const factsAnswer = z.array(
  z.object({
    personId: z.uuid(),
    facts: z.object({
      yearsOfService: z.int().nullable(),
      fitnessPassed: z.boolean().nullable(),
      fitnessUntil: z.string().nullable(),
      rulesTestScore: z.number().nullable(),
      goodStanding: z.boolean().nullable(),
      standingReason: z.string(),
      available: z.boolean().nullable(),
      daysAway: z.array(z.string()),
      postseasonsLately: z.int().nullable(),
    }),
    ties: z.array(z.uuid()),
    enteredHow: z.enum(['page', 'file', 'program']).nullable(),
    enteredBy: z.uuid().nullable(),
    enteredAt: z.string().nullable(),
    revision: z.int(),
  }),
);
