import { createHash } from 'node:crypto';
import type { Database } from '../../../database/database.ts';
import { inTransaction, type Queryable } from '../../../database/transaction.ts';
import type { LetterDocument } from '../../../letters/document-tree.ts';
import { conflict, invalid } from '../../../web/problem.ts';
import { ballotsAreOpen, type Selection } from '../../selection.ts';
import { noted } from '../../stores/selection-store.ts';
import { recordDocument } from '../document/record-document.ts';
import { namedIn, type Person } from '../named.ts';
import { openPoints } from '../open-points.ts';
import { fingerprintOf } from '../record-material.ts';
import { type Recording, readRecordMaterial } from './material.ts';

/** Draws a record as PDF. */
type Print = (document: LetterDocument) => Promise<Buffer>;

/** What is said once of closing and holds for good. */
export const closedForGood =
  'A closed selection is not reopened: it can be read, and its record stays as it was written.';

interface ClosingTyped {
  /** The fingerprint of what was looked at: refused where anything of it was changed meanwhile. */
  readonly seen: string;
  /** Why with something open; empty where nothing is. */
  readonly reason: string;
}

/**
 * Closes a selection: its record is drawn and kept, and from then on all of it can only be read.
 * @throws Problem 409 before the ballots are open, when it is closed already, or when something was changed meanwhile; 400
 *   naming the reason that is missing where something is open
 */
export async function closeSelection(
  { pool }: Pick<Database, 'pool'>,
  acting: Recording,
  selectionId: string,
  { seen, reason }: ClosingTyped,
  print: Print,
): Promise<void> {
  const material = await readRecordMaterial(pool, acting, selectionId);
  mustBeClosable(material.selection);
  const changed = conflict(
    `${material.selection.title} was changed by somebody else meanwhile: look at it again, then close it. What you typed is still here.`,
  );
  if (fingerprintOf(material) !== seen) throw changed;
  const open = openPoints(material);
  if (open.length > 0 && reason === '')
    throw invalid([{ field: 'reason', message: `say why it is closed with ${open.length} left open` }]);
  const at = acting.at ?? (await databaseClock(pool));
  const because = open.length > 0 ? reason : '';
  const document = recordDocument(material, { by: acting.personId, at, open, reason: because }, at);
  const pdf = await print(document);
  await inTransaction(pool, async (client) => {
    // All that was drawn is read again and held: what somebody did while it was drawn would not be in the record.
    const now = await readRecordMaterial(client, acting, selectionId, 'lock');
    mustBeClosable(now.selection);
    if (fingerprintOf(now) !== seen) throw changed;
    const named = namedIn(now, document, await everybody(client, acting.conferenceId), acting.personId);
    await keepRecord(client, acting, selectionId, { pdf, named, at, open, because });
  });
}

async function keepRecord(
  client: Queryable,
  acting: Recording,
  selectionId: string,
  {
    pdf,
    named,
    at,
    open,
    because,
  }: {
    readonly pdf: Buffer;
    readonly named: readonly string[];
    readonly at: Date;
    readonly open: readonly string[];
    readonly because: string;
  },
): Promise<void> {
  const { conferenceId, personId } = acting;
  const sha256 = createHash('sha256').update(pdf).digest('hex');
  // The record comes first: nothing is added to a selection that is closed.
  await client.query(
    `INSERT INTO selection_record (conference_id, selection_id, sha256, pdf, made_by, made_at, named)
     VALUES ($1, $2, $3, $4, $5, $6, $7)`,
    [conferenceId, selectionId, sha256, pdf, personId, at, JSON.stringify(named)],
  );
  await client.query(
    `UPDATE selection SET state = 'closed', closed_by = $3, closed_at = $4, revision = revision + 1
      WHERE conference_id = $1 AND id = $2`,
    [conferenceId, selectionId, personId, at],
  );
  await noted(client, acting, selectionId, 'selection closed', {
    ...{ reason: because === '' ? null : because, after: { state: 'closed', sha256, open: open.length } },
  });
}

/** What stands in the way of closing, whatever is open; null where nothing does. */
export function whyNotClosable({ state, title }: Pick<Selection, 'state' | 'title'>): string | null {
  if (state === 'closed') return `${title} is closed already. ${closedForGood}`;
  if (!ballotsAreOpen({ state }))
    return `${title} can be closed once its ballots are open and decisions are made; it is ${state}.`;
  return null;
}

function mustBeClosable(selection: Selection): void {
  const why = whyNotClosable(selection);
  if (why) throw conflict(why);
}

async function databaseClock(db: Queryable): Promise<Date> {
  const { rows } = await db.query<{ now: Date }>('SELECT clock_timestamp() AS now');
  return rows[0]!.now;
}

async function everybody(db: Queryable, conferenceId: string): Promise<Person[]> {
  const { rows } = await db.query<Person>(
    `SELECT id, given_name AS "givenName", family_name AS "familyName", email FROM person WHERE conference_id = $1`,
    [conferenceId],
  );
  return rows;
}
