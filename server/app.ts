import formbody from '@fastify/formbody';
import Fastify, { type FastifyInstance } from 'fastify';
import { serializerCompiler, validatorCompiler } from 'fastify-type-provider-zod';
import { accountMessages } from './accounts/account-messages.ts';
import { accountRoutes } from './accounts/account-routes.ts';
import { tokenRoutes } from './accounts/api-token/token-routes.ts';
import { accountPages } from './accounts/pages/account-pages.ts';
import { forgottenPasswordPages } from './accounts/pages/forgotten-password-pages.ts';
import { invitationPages } from './accounts/pages/invitation-pages.ts';
import { keyPages } from './accounts/pages/key-pages.ts';
import { peoplePages } from './accounts/pages/people-pages.ts';
import { secondFactorPages } from './accounts/pages/second-factor-pages.ts';
import { accountsPlugin } from './accounts/plugin.ts';
import { policies, withPolicy } from './accounts/policy.ts';
import { apiDescription } from './api-description.ts';
import { calibration } from './calibration/plugin.ts';
import { clinics } from './clinics/plugin.ts';
import type { Config } from './config.ts';
import type { Database } from './database/database.ts';
import { deskPages } from './desk/pages/desk-pages.ts';
import { mailStopPages } from './desk/pages/mail-stop-pages.ts';
import { mailTroublePages } from './desk/pages/mail-trouble-pages.ts';
import { messagePages } from './desk/pages/message-pages.ts';
import { deskPlugin } from './desk/plugin.ts';
import { developmentRoutes } from './development/development-routes.ts';
import { developmentPages } from './development/pages/development-pages.ts';
import { myPatternPages } from './development/pages/my-pattern-pages.ts';
import { patternPages } from './development/pages/pattern-pages.ts';
import { patternPlayPages } from './development/pages/pattern-play-pages.ts';
import { strengthAndTopicPages } from './development/pages/strength-and-topic-pages.ts';
import { filmFileRoutes } from './films/film-file-routes.ts';
import { filmRoutes } from './films/film-routes.ts';
import { frameRoutes } from './films/frame-routes.ts';
import { filmPages } from './films/pages/film-pages.ts';
import { filmSettingPages } from './films/pages/film-setting-pages.ts';
import { watchPages } from './films/pages/watch-pages.ts';
import { filmsPlugin } from './films/plugin.ts';
import { filmUploadRoutes } from './films/upload-routes.ts';
import { healthRoutes } from './health-routes.ts';
import { historyRoutes } from './history/history-routes.ts';
import { historyPages } from './history/pages/history-pages.ts';
import { exportRoutes } from './imports/exports/export-routes.ts';
import { importRoutes } from './imports/import-routes.ts';
import { logRoutes } from './imports/log-routes.ts';
import { importPages } from './imports/pages/import-pages.ts';
import { logMappingPages } from './imports/pages/log-mapping-pages.ts';
import { logPages } from './imports/pages/log-pages.ts';
import { teamInquiries } from './inquiries/plugin.ts';
import { gameReportRoutes } from './letters/game-report-routes.ts';
import { letterBatchRoutes } from './letters/letter-batch-routes.ts';
import { letterRoutes } from './letters/letter-routes.ts';
import { letterWork } from './letters/letter-work.ts';
import { letterPages } from './letters/pages/letter-pages.ts';
import { ownLetterPages } from './letters/pages/own-letter-pages.ts';
import { templatePages } from './letters/pages/template-pages.ts';
import { templateRoutes } from './letters/template-routes.ts';
import { outboxPlugin } from './messages/plugin.ts';
import { metricsPlugin } from './metrics/plugin.ts';
import { metricsRoutes } from './metrics-routes.ts';
import { narrationPlugin } from './narration/plugin.ts';
import { surroundings } from './navigation.ts';
import { observerPages } from './observers/pages/observer-pages.ts';
import { officialPages } from './officials/pages/official-pages.ts';
import { trainingOutcomes } from './outcomes/plugin.ts';
import { postseason } from './postseason/plugin.ts';
import { privacyPages } from './privacy/pages/privacy-pages.ts';
import { retentionPages } from './privacy/pages/retention-pages.ts';
import { retentionPlugin } from './privacy/retention/plugin.ts';
import { retentionRoutes } from './privacy/retention/retention-routes.ts';
import { trainingPrograms } from './programs/plugin.ts';
import { proofPages } from './proof/pages/proof-pages.ts';
import { proofPlugin } from './proof/plugin.ts';
import { quizzes } from './quizzes/plugin.ts';
import { reelPages } from './reels/pages/reel-pages.ts';
import { reelsPlugin } from './reels/plugin.ts';
import { reelFileRoutes } from './reels/reel-file-routes.ts';
import { reelRoutes } from './reels/reel-routes.ts';
import { entryRoutes } from './reports/entry/entry-routes.ts';
import { gameHandPages } from './reports/pages/game-hand-pages.ts';
import { gamePages } from './reports/pages/game-pages.ts';
import { markCorrectionPages } from './reports/pages/mark-correction-pages.ts';
import { myGamesPages } from './reports/pages/my-games-pages.ts';
import { replyPages } from './reports/pages/reply-pages.ts';
import { reportListPages } from './reports/pages/report-list-pages.ts';
import { reportPages } from './reports/pages/report-pages.ts';
import { trailPages } from './reports/pages/trail-pages.ts';
import { playPages } from './reports/plays/play-pages.ts';
import { agreementRoutes } from './reports/review/agreement-routes.ts';
import { correctionRoutes } from './reports/review/correction-routes.ts';
import { decidedRoutes } from './reports/review/decided-routes.ts';
import { replyRoutes } from './reports/review/reply-routes.ts';
import { reportDueRoutes } from './reports/review/report-due-routes.ts';
import { reportRoutes } from './reports/review/report-routes.ts';
import { reportStepRoutes } from './reports/review/report-step-routes.ts';
import { detectionRoutes } from './results/detection/detection-routes.ts';
import { gradePages } from './results/pages/grade-pages.ts';
import { positionSeverityPages } from './results/pages/position-severity-pages.ts';
import { severityPages } from './results/pages/severity-pages.ts';
import { standingsPages } from './results/pages/standings-pages.ts';
import { whyPages } from './results/pages/why-pages.ts';
import { patternRoutes } from './results/patterns/pattern-routes.ts';
import { resultsPlugin } from './results/plugin.ts';
import { readingPlugin } from './results/reading.ts';
import { gradeRoutes } from './results/standings/grade-routes.ts';
import { positionSeverityRoutes } from './results/standings/position-severity-routes.ts';
import { severityRoutes } from './results/standings/severity-routes.ts';
import { standingsRoutes } from './results/standings/standings-routes.ts';
import { standingsSettingsRoutes } from './results/standings/standings-settings-routes.ts';
import { whyRoutes } from './results/standings/why-routes.ts';

import { consequenceRoutes } from './rubric-editing/consequence-routes.ts';
import { dutyRoutes } from './rubric-editing/duty-routes.ts';
import { consequencePages } from './rubric-editing/pages/consequence-pages.ts';
import { dutyFormPages } from './rubric-editing/pages/duty-form-pages.ts';
import { playingRulesPages } from './rubric-editing/pages/playing-rules-pages.ts';
import { rubricPages } from './rubric-editing/pages/rubric-pages.ts';
import { startRubricPages } from './rubric-editing/pages/start-rubric-pages.ts';
import { rubricRoutes } from './rubric-editing/rubric-routes.ts';
import { crewPages } from './schedule/pages/crew-pages.ts';
import { gameEntryPages } from './schedule/pages/game-entry-pages.ts';
import { placePages } from './schedule/pages/place-pages.ts';
import { seasonSwitch } from './schedule/pages/season-switch.ts';
import { seasonsPages } from './schedule/pages/seasons-pages.ts';
import { scheduleRoutes } from './schedule/schedule-routes.ts';
import { listPages } from './season-lists/pages/list-pages.ts';
import { nextSeasonPages } from './setup/pages/next-season-pages.ts';
import { seasonAvailabilityPages } from './setup/pages/season-availability-pages.ts';
import { seasonClosingPages } from './setup/pages/season-closing-pages.ts';
import { settingsPages } from './setup/pages/settings-pages.ts';
import { setupPages } from './setup/pages/setup-pages.ts';
import { watchingTraining } from './watching/plugin.ts';
import { assetRoutes, assets } from './web/assets.ts';
import { closing } from './web/closing.ts';
import { compression } from './web/compression.ts';
import { notKept } from './web/not-kept.ts';
import { answerError, Problem } from './web/problem.ts';
import { pageRendering } from './web/render.ts';
import { logging, requestLog } from './web/request-log.ts';
import { securityHeaders } from './web/security-headers.ts';
import { soundRequests } from './web/sound-requests.ts';
import { stalledBodies } from './web/stalled-bodies.ts';
import { noTokensInAddresses } from './web/token-in-address.ts';
import { answerNoRequest, readableAddress } from './web/unreadable-requests.ts';
import { wrongMethod } from './web/wrong-method.ts';
import { webhookPages } from './webhooks/pages/webhook-pages.ts';
import { webhookPlugin } from './webhooks/plugin.ts';
import { webhookRoutes } from './webhooks/webhook-routes.ts';

declare module 'fastify' {
  interface FastifyInstance {
    database: Database;
    settings: Config;
  }
}

/**
 * Composes the application on a migrated database. It never listens: the server does, and tests inject.
 * @param log where lines go in place of standard output
 */
export async function buildApp(
  database: Database,
  settings: Config,
  log?: { write(line: string): void },
): Promise<FastifyInstance> {
  const app = Fastify({
    ...logging(settings.LOG_LEVEL, log),
    // One hop: the address that our own proxy saw. Anything further left in X-Forwarded-For is the client's word.
    trustProxy: settings.TRUST_PROXY ? (_address, hop) => hop === 0 : false,
    bodyLimit: 5 * 1024 * 1024,
    pluginTimeout: 120_000, // a busy machine takes longer than the ten seconds of avvio to build the browser's modules
    // Whatever a request is, it has arrived by then; one that stalls is given up much sooner (web/stalled-bodies.ts).
    requestTimeout: 30 * 60_000,
    return503OnClosing: false, // web/closing.ts says it in our form
    // As long as Node takes an address, so that what is too long for an id is told by our own routes.
    routerOptions: { ignoreTrailingSlash: true, maxParamLength: 16 * 1024 },
    rewriteUrl: ({ url }) => readableAddress(url ?? '/'),
    clientErrorHandler: answerNoRequest,
  });
  app.decorate('database', database);
  app.decorate('settings', settings);
  app.setValidatorCompiler(validatorCompiler);
  app.setSerializerCompiler(serializerCompiler);
  app.setErrorHandler((error, request, reply) => answerError(error, request, reply));
  app.setNotFoundHandler((request, reply) => {
    const at = request.url.split('?')[0]!;
    const other = at.startsWith('/api/')
      ? wrongMethod(request.method, at, app.routesWithPolicies)
      : undefined;
    return answerError(
      other ?? new Problem(404, 'Not found', 'There is nothing at this address.'),
      request,
      reply,
    );
  });

  await app.register(requestLog);
  await app.register(metricsPlugin);
  await app.register(closing);
  await app.register(stalledBodies);
  await app.register(securityHeaders);
  await app.register(notKept);
  await app.register(compression);
  await app.register(formbody);
  await app.register(outboxPlugin);
  await app.register(webhookPlugin);
  await app.register(noTokensInAddresses);
  await app.register(accountsPlugin);
  await app.register(seasonSwitch);
  await app.register(deskPlugin);
  await app.register(soundRequests);
  await app.register(assets);
  await app.register(pageRendering, { surroundings });
  await app.register(apiDescription);
  await app.register(resultsPlugin);
  await app.register(readingPlugin);

  await app.register(healthRoutes);
  await app.register(metricsRoutes);
  await app.register(withPolicy(policies.open, assetRoutes));
  await app.register(accountRoutes);
  await app.register(tokenRoutes);
  await app.register(accountMessages);
  await app.register(accountPages);
  await app.register(forgottenPasswordPages);
  await app.register(invitationPages);
  await app.register(peoplePages);
  await app.register(secondFactorPages);
  await app.register(keyPages);
  await app.register(scheduleRoutes);
  await app.register(listPages);
  await app.register(seasonsPages);
  await app.register(placePages);
  await app.register(crewPages);
  await app.register(gameEntryPages);
  await app.register(seasonClosingPages);
  await app.register(nextSeasonPages);
  await app.register(seasonAvailabilityPages);
  await app.register(standingsPages);
  await app.register(severityPages);
  await app.register(positionSeverityPages);
  await app.register(gradePages);
  await app.register(whyPages);
  await app.register(standingsRoutes);
  await app.register(standingsSettingsRoutes);
  await app.register(severityRoutes);
  await app.register(gradeRoutes);
  await app.register(positionSeverityRoutes);
  await app.register(whyRoutes);
  await app.register(detectionRoutes);
  await app.register(officialPages);
  await app.register(historyPages);
  await app.register(historyRoutes);
  await app.register(patternRoutes);
  await app.register(patternPages);
  await app.register(strengthAndTopicPages);
  await app.register(patternPlayPages);
  await app.register(developmentRoutes);
  await app.register(developmentPages);
  await app.register(myPatternPages);
  await app.register(importRoutes);
  await app.register(exportRoutes);
  await app.register(importPages);
  await app.register(logPages);
  await app.register(logMappingPages);
  await app.register(logRoutes);
  await app.register(rubricRoutes);
  await app.register(dutyRoutes);
  await app.register(consequenceRoutes);
  await app.register(entryRoutes);
  await app.register(observerPages);
  await app.register(letterWork);
  await app.register(letterRoutes);
  await app.register(letterBatchRoutes);
  await app.register(templateRoutes);
  await app.register(gameReportRoutes);
  await app.register(letterPages);
  await app.register(templatePages);
  await app.register(ownLetterPages);
  await app.register(startRubricPages);
  await app.register(playingRulesPages);
  await app.register(rubricPages);
  await app.register(consequencePages);
  await app.register(dutyFormPages);
  await app.register(playPages);
  await app.register(reportDueRoutes);
  await app.register(reportRoutes);
  await app.register(reportStepRoutes);
  await app.register(correctionRoutes);
  await app.register(agreementRoutes);
  await app.register(replyRoutes);
  await app.register(decidedRoutes);
  await app.register(myGamesPages);
  await app.register(reportListPages);
  await app.register(reportPages);
  await app.register(markCorrectionPages);
  await app.register(replyPages);
  await app.register(gamePages);
  await app.register(gameHandPages);
  await app.register(trailPages);
  await app.register(proofPlugin);
  await app.register(proofPages);
  await app.register(privacyPages);
  await app.register(retentionPlugin);
  await app.register(retentionRoutes);
  await app.register(retentionPages);
  await app.register(trainingPrograms);
  await app.register(teamInquiries);
  await app.register(postseason);
  await app.register(calibration);
  await app.register(clinics);
  await app.register(quizzes);
  await app.register(trainingOutcomes);
  await app.register(watchingTraining);
  await app.register(setupPages);
  await app.register(deskPages);
  await app.register(messagePages);
  await app.register(mailTroublePages);
  await app.register(mailStopPages);
  await app.register(settingsPages);
  await app.register(filmsPlugin);
  await app.register(narrationPlugin);
  await app.register(filmRoutes);
  await app.register(filmUploadRoutes);
  await app.register(frameRoutes);
  await app.register(filmFileRoutes);
  await app.register(filmPages);
  await app.register(watchPages);
  await app.register(filmSettingPages);
  await app.register(reelsPlugin);
  await app.register(reelRoutes);
  await app.register(reelFileRoutes);
  await app.register(reelPages);
  await app.register(webhookRoutes);
  await app.register(webhookPages);
  return app;
}
