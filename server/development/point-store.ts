import type pg from 'pg';
import type { Acting } from '../accounts/acting.ts';
import { appendAudit } from '../accounts/audit/audit.ts';
import type { Database } from '../database/database.ts';
import type { Prisma } from '../database/generated/client.ts';
import { inTransaction, type Queryable } from '../database/transaction.ts';
import { conflict, invalid, notFound } from '../web/problem.ts';
import type { DevelopmentPoint, DevelopmentStep, NewPoint, NewStep, StepKind, Turn } from './point.ts';

const withSteps = {
  steps: { orderBy: [{ happenedOn: 'asc' }, { madeAt: 'asc' }, { id: 'asc' }] },
} satisfies Prisma.DevelopmentPointInclude;

type PointRow = Prisma.DevelopmentPointGetPayload<{ include: typeof withSteps }>;

const asPoint = ({
  id,
  seasonId,
  personId,
  dutyKey,
  situationCut,
  steps,
  ...row
}: PointRow): DevelopmentPoint => ({
  id,
  seasonId,
  personId,
  position: row.position as DevelopmentPoint['position'],
  dutyKey,
  situationCut,
  state: row.state as DevelopmentPoint['state'],
  steps: steps.map(({ conferenceId: _, pointId: __, ...step }) => ({
    ...step,
    kind: step.kind as StepKind,
    happenedOn: step.happenedOn.toISOString().slice(0, 10),
    madeAt: step.madeAt.toISOString(),
  })),
});

/** A season's points, of everybody or of one official: open ones first, then by when they were opened. */
export async function readPoints(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
  seasonId: string,
  personId: string | null = null,
): Promise<DevelopmentPoint[]> {
  const rows = await prisma.developmentPoint.findMany({
    where: { conferenceId, seasonId, ...(personId === null ? {} : { personId }) },
    // In words, "open" comes after "closed".
    orderBy: [{ state: 'desc' }, { createdAt: 'asc' }, { id: 'asc' }],
    include: withSteps,
  });
  return rows.map(asPoint);
}

/** @throws Problem 404 when the conference has no such point. */
export async function readPoint(
  { prisma }: Pick<Database, 'prisma'>,
  conferenceId: string,
  pointId: string,
): Promise<DevelopmentPoint> {
  const row = await prisma.developmentPoint.findUnique({
    where: { conferenceId_id: { conferenceId, id: pointId } },
    include: withSteps,
  });
  if (!row) throw notFound('development point');
  return asPoint(row);
}

/**
 * Opens a point. `evidence` is the pattern as it stands, kept with it.
 * @throws Problem 400 naming the field when official or duty is unknown, 409 when there is such a point already.
 */
export async function openPoint(
  pool: pg.Pool,
  actor: Acting,
  seasonId: string,
  input: NewPoint,
  evidence: object | null,
): Promise<string> {
  return inTransaction(pool, async (client) => {
    const known = await client.query<{ official: boolean; duty: boolean }>(
      `SELECT EXISTS (SELECT FROM person_role WHERE conference_id = $1 AND person_id = $3 AND role = 'official') AS official,
              EXISTS (SELECT FROM duty d JOIN rubric_version v ON v.conference_id = d.conference_id AND v.id = d.rubric_version_id
                       WHERE v.conference_id = $1 AND v.season_id = $2 AND d.key = $4) AS duty`,
      [actor.conferenceId, seasonId, input.personId, input.dutyKey],
    );
    const { official, duty } = known.rows[0]!;
    const errors = [
      ...(official ? [] : [{ field: 'personId', message: 'names no official of this conference' }]),
      ...(duty ? [] : [{ field: 'dutyKey', message: "names no duty of this season's rubric" }]),
    ];
    if (errors.length > 0) throw invalid(errors);
    const { rows } = await client.query<{ id: string }>(
      `INSERT INTO development_point (conference_id, season_id, person_id, position, duty_key, situation_cut, evidence)
       VALUES ($1, $2, $3, $4, $5, $6, $7)
       ON CONFLICT (conference_id, season_id, person_id, position, duty_key, situation_cut) DO NOTHING RETURNING id`,
      [
        actor.conferenceId,
        seasonId,
        input.personId,
        input.position,
        input.dutyKey,
        input.situationCut,
        evidence === null ? null : JSON.stringify(evidence),
      ],
    );
    const id = rows[0]?.id;
    if (!id)
      throw conflict('There is a development point for this duty and official already; open that one.');
    await addStep(client, actor, id, { kind: 'opened', happenedOn: null, text: input.text, shared: false });
    await appendAudit(client, {
      conferenceId: actor.conferenceId,
      actorId: actor.personId,
      action: 'development point opened',
      subjectKind: 'development_point',
      subjectId: id,
      after: { ...input, seasonId },
    });
    return id;
  });
}

/** Notes a conversation, a letter or a remark. */
export async function noteStep(pool: pg.Pool, actor: Acting, pointId: string, step: NewStep): Promise<void> {
  await inTransaction(pool, async (client) => {
    await lockPoint(client, actor.conferenceId, pointId);
    await addStep(client, actor, pointId, step);
    await appendAudit(client, {
      conferenceId: actor.conferenceId,
      actorId: actor.personId,
      action: `development point: ${step.kind} noted`,
      subjectKind: 'development_point',
      subjectId: pointId,
      after: step,
    });
  });
}

/** Takes back a conversation, letter or remark that was noted by mistake; the audit trail keeps it. */
export async function removeStep(
  pool: pg.Pool,
  actor: Acting,
  pointId: string,
  stepId: string,
): Promise<void> {
  await inTransaction(pool, async (client) => {
    await lockPoint(client, actor.conferenceId, pointId);
    const { rows } = await client.query<DevelopmentStep>(
      `DELETE FROM development_step
        WHERE conference_id = $1 AND point_id = $2 AND id = $3 AND kind IN ('conversation', 'letter', 'note')
        RETURNING kind, to_char(happened_on, 'YYYY-MM-DD') AS "happenedOn", text, shared`,
      [actor.conferenceId, pointId, stepId],
    );
    if (!rows[0]) throw notFound('note');
    await appendAudit(client, {
      conferenceId: actor.conferenceId,
      actorId: actor.personId,
      action: `development point: ${rows[0].kind} taken back`,
      subjectKind: 'development_point',
      subjectId: pointId,
      before: rows[0],
    });
  });
}

/**
 * Closes an open point, or opens a closed one again.
 * @throws Problem 409 when it is in that state already.
 */
export async function turnPoint(
  pool: pg.Pool,
  actor: Acting,
  pointId: string,
  to: 'closed' | 'reopened',
  turn: Omit<Turn, 'happenedOn'> & { happenedOn: string | null },
): Promise<void> {
  await inTransaction(pool, async (client) => {
    const state = to === 'closed' ? 'closed' : 'open';
    const before = await lockPoint(client, actor.conferenceId, pointId);
    if (before === state) throw conflict(`This development point is ${state} already.`);
    await client.query('UPDATE development_point SET state = $3 WHERE conference_id = $1 AND id = $2', [
      actor.conferenceId,
      pointId,
      state,
    ]);
    await addStep(client, actor, pointId, { kind: to, shared: false, ...turn });
    await appendAudit(client, {
      conferenceId: actor.conferenceId,
      actorId: actor.personId,
      action: `development point ${to}`,
      subjectKind: 'development_point',
      subjectId: pointId,
      before: { state: before },
      after: { state, ...turn },
    });
  });
}

async function lockPoint(client: Queryable, conferenceId: string, pointId: string): Promise<string> {
  const { rows } = await client.query<{ state: string }>(
    'SELECT state FROM development_point WHERE conference_id = $1 AND id = $2 FOR UPDATE',
    [conferenceId, pointId],
  );
  if (!rows[0]) throw notFound('development point');
  return rows[0].state;
}

/** `happenedOn` null: today in the conference's time zone. */
async function addStep(
  client: Queryable,
  actor: Acting,
  pointId: string,
  step: { kind: StepKind; happenedOn: string | null; text: string; shared: boolean },
): Promise<void> {
  await client.query(
    `INSERT INTO development_step (conference_id, point_id, kind, happened_on, text, shared, made_by, made_at)
     SELECT $1, $2, $3, coalesce($4::date, (clock_timestamp() AT TIME ZONE c.time_zone)::date), $5, $6, $7, clock_timestamp()
       FROM conference c WHERE c.id = $1`,
    [actor.conferenceId, pointId, step.kind, step.happenedOn, step.text, step.shared, actor.personId],
  );
}
