import type { FastifyInstance } from 'fastify';
import { frame, type TaughtSeason, taughtSeason } from '../programs/taught-season.ts';
import { inSessionOf, type SignedInAgent } from '../support/signed-in.ts';

export const question = {
  question: 'Where to look once the ball is dead?',
  choices: [
    { text: 'At the ball', right: false },
    { text: 'At the players near it', right: true },
    { text: 'At the pile', right: true },
  ],
};

export const card = {
  topic: 'Eyes on players',
  aspect: 'position',
  showing: 'bad',
  position: 'umpire',
  dutyKey: 'everybodys-duty',
  answer: 'Step up and look through the pile.',
  answeredOn: null,
  ruleCited: '',
  mechanicCited: 'Section on dead-ball officiating',
  twoMechanics: true,
  firstKey: 'Feet still',
  secondKey: 'Eyes up',
  question: '',
  choices: [] as { text: string; right: boolean }[],
  narration: 'The ball is dead. Feet still, eyes up.',
  secondsBefore: 4,
  secondsAfter: 6,
};

export interface Released {
  readonly season: TaughtSeason;
  readonly programId: string;
  readonly coordinator: SignedInAgent;
  readonly as: (personId: string) => Promise<SignedInAgent>;
  readonly release: (note?: string) => Promise<number>;
  readonly change: (at: number, over: object) => Promise<void>;
}

/** A conference from nothing with a program of three plays: 1 and 3 ask something, 2 does not. Not released yet. */
export async function programToWatch(app: FastifyInstance, over: object = {}): Promise<Released> {
  const season = await taughtSeason(app.database.pool);
  const as = (personId: string) => inSessionOf(app, { conferenceId: season.conferenceId, personId });
  const coordinator = await as(season.coordinatorId);
  const { body } = await coordinator
    .post(`/api/seasons/${season.seasonId}/training-programs`)
    .send({ ...frame, ...over })
    .expect(201);
  const at = `/api/training-programs/${body.id}`;
  const now = async () => (await coordinator.get(at).expect(200)).body;
  const plays: [number, string, string][] = [
    [1, 'umpire', 'bad'],
    [6, 'line judge', 'good'],
    [5, 'umpire', 'good'],
  ];
  for (const [number, position, showing] of plays)
    await coordinator
      .post(`${at}/plays`)
      .send({ playId: season.playIds[number - 1], dutyKey: 'everybodys-duty', position, showing })
      .expect(201);
  const change = async (place: number, changed: object) => {
    const [number, position, showing] = plays[place - 1]!;
    const playId = season.playIds[number - 1]!;
    const { plays: kept } = await now();
    const { version } = kept.find((play: { playId: string }) => play.playId === playId);
    await coordinator
      .put(`${at}/plays/${playId}`)
      .send({ card: { ...card, position, showing, ...changed }, version })
      .expect(200);
  };
  await change(1, question);
  await change(2, {});
  await change(3, { ...question, question: 'And here?' });
  return {
    season,
    programId: body.id,
    coordinator,
    as,
    change,
    release: async (note = '') => {
      const { version } = await now();
      const released = await coordinator
        .post(`${at}/editions`)
        .send({ version, note, untoldBecause: 'They were told by telephone.' });
      if (released.status !== 201) throw new Error(JSON.stringify(released.body));
      return released.body.number;
    },
  };
}
