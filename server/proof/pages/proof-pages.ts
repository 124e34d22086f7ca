import type { FastifyInstance } from 'fastify';
import { slugOf } from '../../accounts/conference-slug.ts';
import { policies, sessionOf } from '../../accounts/policy.ts';
import { readKey } from '../notes.ts';
import { type KeptNotes, notesIn, verifyConference } from '../verify-conference.ts';

/** Whether the history holds, for the coordinator. */
export async function proofPages(app: FastifyInstance): Promise<void> {
  const { pool } = app.database;
  const { AUDIT_KEY_FILE, AUDIT_NOTES_FILE, AUDIT_NOTES_MAIL } = app.settings;

  /** Null: none are configured to be kept in a file. */
  const notes = async (): Promise<KeptNotes | 'not readable' | null> => {
    if (AUDIT_KEY_FILE === undefined || AUDIT_NOTES_FILE === undefined) return null;
    const key = await readKey(AUDIT_KEY_FILE);
    return notesIn(AUDIT_NOTES_FILE, key).catch(() => 'not readable' as const);
  };

  app.get(
    '/trail/proof',
    { config: { policy: policies.coordinator }, schema: { hide: true } },
    async (request, reply) => {
      const { conferenceId, timeZone } = sessionOf(request);
      const kept = await notes();
      const slug = await slugOf(app.database, conferenceId);
      const client = await pool.connect();
      try {
        const proof = await verifyConference(
          client,
          { id: conferenceId, slug },
          kept === null || kept === 'not readable' ? {} : { kept },
        );
        const ofNotes =
          kept === null ? [] : kept === 'not readable' ? ['the notes’ file cannot be read'] : kept.faults;
        return reply.page(
          'proof/proof',
          {
            ...proof,
            slug,
            faults: [...ofNotes, ...proof.faults],
            lastNote: proof.lastNote === null ? null : new Date(proof.lastNote),
            file: kept !== null,
            mail: AUDIT_NOTES_MAIL !== undefined,
            timeZone,
          },
          { title: 'Does the history hold?' },
        );
      } finally {
        client.release();
      }
    },
  );
}
