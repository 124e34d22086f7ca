import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { policies, sessionOf } from '../accounts/policy.ts';
import { subRip, webVtt } from '../timeline/caption-files.ts';
import { captionsOf } from '../timeline/captions.ts';
import type { Cue } from '../timeline/cue.ts';
import { editDecisionList } from '../timeline/edit-decision-list.ts';
import { openTimeline } from '../timeline/open-timeline.ts';
import { placesOfEdition } from './edition-places.ts';
import { editionAddress } from './edition-routes.ts';
import { editorCues } from './editor-cues.ts';
import { tags } from './program-answer.ts';
import { readEdition } from './stores/edition-store.ts';
import { readMadeReel } from './stores/made-reel.ts';

interface EditorFile {
  readonly name: string;
  readonly type: string;
  readonly summary: string;
  readonly description: string;
  write(title: string, cues: readonly Cue[]): string;
}

const nobodyNamed =
  'Lengths are those of the newest reel that was made of the edition, with its cards as gaps, else as planned; the name of the file tells which. Each play is called by its number and topic. Without film its place is kept empty; with `film=true` it names the address of the film, which may tell the teams, for who cuts it only.';

const editorFiles: readonly EditorFile[] = [
  {
    name: 'captions.vtt',
    type: 'text/vtt; charset=utf-8',
    summary: 'Narration of an edition as WebVTT captions',
    description:
      'Timed to the newest reel that was made of the edition, else to its planned lengths, cut after cut, without stops for questions; the name of the file tells which.',
    write: (_title, cues) => webVtt(captionsOf(cues)),
  },
  {
    name: 'captions.srt',
    type: 'application/x-subrip; charset=utf-8',
    summary: 'Narration of an edition as SubRip captions',
    description: 'The same captions, for players and editors that take no WebVTT.',
    write: (_title, cues) => subRip(captionsOf(cues)),
  },
  {
    name: 'edit-list.edl',
    type: 'text/plain; charset=us-ascii',
    summary: 'An edition as a CMX 3600 edit decision list',
    description: `In drop-frame time code at 30000/1001 frames a second. ${nobodyNamed}`,
    write: editDecisionList,
  },
  {
    name: 'timeline.otio',
    type: 'application/octet-stream',
    summary: 'An edition as an OpenTimelineIO timeline',
    description: `For an editor of pictures, at 30000/1001 frames a second. ${nobodyNamed}`,
    write: openTimeline,
  },
];

/** What is cut by, file by file; for the coordinator. */
export async function editorFileRoutes(app: FastifyInstance): Promise<void> {
  const routes = app.withTypeProvider<ZodTypeProvider>();
  for (const { name, type, summary, description, write } of editorFiles) {
    routes.get(
      `/api/training-programs/:programId/editions/:number/${name}`,
      {
        config: { policy: policies.coordinator },
        schema: {
          tags,
          summary,
          description,
          params: editionAddress,
          querystring: z.object({
            film: z
              .enum(['true', 'false'])
              .default('false')
              .describe('whether the addresses of films are named; captions name none'),
          }),
        },
      },
      async (request, reply) => {
        const { programId, number } = request.params;
        const { conferenceId } = sessionOf(request);
        const { pool } = app.database;
        const edition = await readEdition(pool, conferenceId, programId, number);
        const places = placesOfEdition(edition, await readMadeReel(pool, conferenceId, edition));
        const cues = editorCues(edition, places, request.query.film === 'true');
        const which = places.made ? 'as-made' : 'as-planned';
        return reply
          .type(type)
          .header('content-disposition', `attachment; filename="edition-${number}-${which}-${name}"`)
          .send(write(`${edition.content.title}, edition ${number}`, cues));
      },
    );
  }
}
