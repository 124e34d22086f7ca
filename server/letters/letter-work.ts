import fastifyPlugin from 'fastify-plugin';
import type { Session } from '../accounts/session.ts';
import { publicAddress } from '../mail/mailer.ts';
import { currentSeason } from '../schedule/seasons.ts';
import { type BackgroundWork, backgroundWork } from '../threads/background-work.ts';
import { answerPage } from './answering.ts';
import type { TemplateKind } from './letter-data.ts';
import { LetterMaker } from './letter-maker.ts';
import { prepareLetter } from './letter-messages.ts';
import { LetterWriter } from './letter-writer.ts';
import { TemplatePreviews } from './template-preview.ts';
import type { TemplateProblem } from './template-problem.ts';

declare module 'fastify' {
  interface FastifyInstance {
    /** The process's share of making letters. */
    letterWork: BackgroundWork;
    /** Writes what somebody waits for: previews, checks, single reports. */
    letterWriter: LetterWriter;
    templatePreviews: TemplatePreviews;
    /** What is wrong with a template, tried on made-up officials and on some of the conference's current season. */
    checkedTemplate(who: Session, kind: TemplateKind, body: string): Promise<TemplateProblem[]>;
  }
}

/** Makes every letter that waits; the outbox sends what is released. */
export const letterWork = fastifyPlugin(async (app) => {
  const { pool } = app.database;
  const address = publicAddress(app.settings);
  const writer = new LetterWriter();
  // Of its own, so that a preview does not wait for a batch.
  const letterWriter = new LetterWriter();
  app.decorate('letterWriter', letterWriter);
  const templatePreviews = new TemplatePreviews(pool, app.results, answerPage(address));
  app.decorate('templatePreviews', templatePreviews);
  app.decorate('checkedTemplate', async (who: Session, kind: TemplateKind, body: string) => {
    const season = await currentSeason(app.database, who.conferenceId);
    const data = season ? await templatePreviews.some(who, kind, season.id) : [];
    return letterWriter.check(kind, body, data);
  });
  const maker = new LetterMaker(app.database, app.results, answerPage(address), writer, (work) =>
    app.metrics.job('letter', work),
  );
  const work = backgroundWork(
    () => maker.makeNext(),
    (error) => app.log.error({ err: error }, 'making letters was interrupted; it goes on later'),
  );
  app.decorate('letterWork', work);
  app.outbox.prepare('letter', prepareLetter);
  app.addHook('onListen', async () => work.watch());
  app.addHook('onClose', async () => {
    await work.stop();
    await Promise.all([writer.close(), letterWriter.close()]);
  });
});
