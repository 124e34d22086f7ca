/**
 * What each table holds of a person: one entry for every table, each column in exactly one list. A table or column that
 * is not here fails a test, so that whoever adds one says what it holds.
 */
interface Holding {
  /** Rows (`t`) about or by the person: SQL with $1 the conference and $2 the person. Null: rows are about nobody. */
  readonly theirs: string | null;
  /** Rows of them that tell of several people: what is given of `words` is the parts about the person only. */
  readonly partly?: string;
  /** Rows of them that the conference has not released to the person yet. */
  readonly notYet?: string;
  /** Rows of them that only whoever wrote them sees so far: a coordinator who gives a person their data does not get them. */
  readonly sealed?: string;
  /** Given to the person as they are. */
  readonly facts: readonly string[];
  /** Ids of people: given as who they are to the person, such as "another official". */
  readonly people: readonly string[];
  /** What people wrote, or what quotes it: given with others' names replaced; names are taken out of it at an erasure. */
  readonly words: readonly string[];
  /** Keys, hashes and files that let somebody in or hold others' data: never given. */
  readonly kept: readonly string[];
  /** Says nothing of a person. */
  readonly rest: readonly string[];
}

const list = (names = '') => names.split(' ').filter((name) => name !== '');
const holding = (
  theirs: string | null,
  lists: { facts?: string; people?: string; words?: string; kept?: string; rest?: string },
  more: Pick<Holding, 'partly' | 'notYet' | 'sealed'> = {},
): Holding => ({
  theirs,
  ...more,
  facts: list(lists.facts),
  people: list(lists.people),
  words: list(lists.words),
  kept: list(lists.kept),
  rest: list(lists.rest),
});

const own = 't.conference_id = $1 AND t.person_id = $2';
const by = (column: string) => `t.conference_id = $1 AND t.${column} = $2`;
/** The report is theirs as its observer. */
const ownReport = (id: string) =>
  `EXISTS (SELECT FROM report r WHERE r.conference_id = $1 AND r.id = ${id} AND r.observer_id = $2)`;
const notReleased = `NOT EXISTS (SELECT FROM report r WHERE r.conference_id = $1 AND r.id = t.report_id
  AND (r.state = 'released' OR r.observer_id = $2))`;
const ownPoint = `EXISTS (SELECT FROM development_point d WHERE d.conference_id = $1 AND d.id = t.point_id AND d.person_id = $2)`;
const ownReply = `EXISTS (SELECT FROM reply y WHERE y.conference_id = $1 AND y.id = t.reply_id AND y.official_id = $2)`;
const ownMarkAnswered = `EXISTS (SELECT FROM observation o JOIN report r ON r.conference_id = o.conference_id AND r.id = o.report_id
  WHERE o.conference_id = $1 AND o.id = t.observation_id AND r.observer_id = $2)`;
const ownAssignment = `EXISTS (SELECT FROM observer_assignment a WHERE a.conference_id = $1 AND a.id = t.assignment_id AND a.observer_id = $2)`;
const ownUpload = `EXISTS (SELECT FROM import_upload u WHERE u.conference_id = $1 AND u.id = t.upload_id AND u.person_id = $2)`;
const selectionNotClosed = `NOT EXISTS (SELECT FROM selection s WHERE s.conference_id = $1 AND s.id = t.selection_id AND s.state = 'closed')`;
const stillSealed = `EXISTS (SELECT FROM selection s WHERE s.conference_id = $1 AND s.id = t.selection_id
  AND s.state IN ('preparing', 'sealed voting'))`;
/** Not sealed when all were opened, or not opened: it is not counted, and nobody is shown it. */
const neverCounted = `EXISTS (SELECT FROM selection_member m WHERE m.conference_id = $1 AND m.selection_id = t.selection_id
  AND m.person_id = t.member_id AND m.sealed_at IS NULL)`;
const address = '(SELECT p.email FROM person p WHERE p.conference_id = $1 AND p.id = $2)';
const mentions = (column: string) => `strpos(t.${column}::text, $2::text) > 0`;

const counts =
  'opportunities not_met not_counted model cost_none cost_yards cost_possession cost_score position duty_key';

export const holdings: Readonly<Record<string, Holding>> = {
  account_link: holding(own, {
    facts: 'purpose created_at expires_at used_at',
    people: 'person_id',
    kept: 'token_hash',
    rest: 'conference_id',
  }),
  api_token: holding(own, {
    facts: 'name role read_only created_at expires_at last_used_at revoked_at',
    people: 'person_id',
    kept: 'token_hash',
    rest: 'conference_id id',
  }),
  assignment_link: holding(`t.conference_id = $1 AND ${ownAssignment}`, {
    facts: 'created_at expires_at',
    kept: 'token_hash',
    rest: 'conference_id assignment_id',
  }),
  audit_entry: holding(
    `t.conference_id = $1 AND (t.actor_id = $2 OR t.subject_id = $2::text OR ${mentions('before')} OR ${mentions('after')})`,
    {
      facts: 'number at action subject_kind token',
      people: 'actor_id',
      words: 'reason before after',
      rest: 'conference_id subject_id previous_hash hash salt content_digest',
    },
    {
      partly: 't.actor_id IS DISTINCT FROM $2 AND t.subject_id <> $2::text',
      notYet: 't.actor_id IS DISTINCT FROM $2 AND t.subject_id <> $2::text',
    },
  ),
  audit_note: holding(null, { rest: 'conference_id day number hash line written_at mailed_at' }),
  calibration_clip: holding(null, {
    words: 'items',
    rest: 'conference_id set_id number play_id position',
  }),
  calibration_mark: holding(by('observer_id'), {
    facts: 'set_id number item finding marked_at',
    people: 'observer_id',
    rest: 'conference_id',
  }),
  calibration_observer: holding(by('observer_id'), {
    facts: 'set_id reminded_at done_at',
    people: 'observer_id',
    rest: 'conference_id',
  }),
  calibration_set: holding(by('made_by'), {
    facts: 'id season_id due_on state made_at opened_at closed_at',
    people: 'made_by',
    words: 'title',
    rest: 'conference_id',
  }),
  clinic: holding(by('made_by'), {
    facts: 'id season_id held_on minutes audience positions crew_id made_at',
    people: 'made_by',
    words: 'title place make_up',
    rest: 'conference_id',
  }),
  clinic_attendance: holding(
    't.conference_id = $1 AND (t.official_id = $2 OR t.noted_by = $2)',
    {
      facts: 'clinic_id season_id state noted_at',
      people: 'official_id noted_by',
      words: 'note',
      rest: 'conference_id',
    },
    { partly: 't.official_id <> $2' },
  ),
  conference: holding(null, {
    words: 'policy_text',
    rest: 'id slug name time_zone reply_days created_at current_season_id code crew_size confirmed_at decided_share_least report_days second_factor_needed',
  }),
  crew: holding(null, { words: 'name', rest: 'conference_id id season_id' }),
  crew_member: holding(own, { facts: 'position crew_id', people: 'person_id', rest: 'conference_id' }),
  cut_count: holding(own, {
    facts: 'position duty_key situation_cut opportunities not_met not_counted model game_id',
    people: 'person_id',
    rest: 'conference_id',
  }),
  cut_count_state: holding(null, { rest: 'conference_id game_id cuts_version counted_at' }),
  development_point: holding(own, {
    facts: 'id season_id position duty_key situation_cut state created_at',
    people: 'person_id',
    words: 'evidence',
    rest: 'conference_id',
  }),
  development_step: holding(
    `t.conference_id = $1 AND (t.made_by = $2 OR ${ownPoint})`,
    {
      facts: 'kind happened_on shared made_at point_id',
      people: 'made_by',
      words: 'text',
      rest: 'conference_id id',
    },
    { notYet: 'NOT t.shared AND t.made_by IS DISTINCT FROM $2' },
  ),
  duty: holding(null, {
    words: 'title definition',
    rest: 'conference_id rubric_version_id key category graded_as weight',
  }),
  film: holding(by('made_by'), {
    facts: 'game_id source place state bytes made_at',
    people: 'made_by',
    words: 'angle file_name',
    rest: 'conference_id id made_bytes facts refused trouble progress in_hand_of in_hand_until attempts',
  }),
  film_mark: holding(by('made_by'), {
    facts: 'film_id play_id seconds made_at',
    people: 'made_by',
    rest: 'conference_id',
  }),
  film_setting: holding(null, { rest: 'conference_id viewers largest space' }),
  game: holding(null, {
    words: 'film_link',
    rest: 'conference_id id season_id key week kickoff home_team_id visiting_team_id venue_id crew_id crew_confirmed_at play_log_revision home_points visitor_points',
  }),
  game_count: holding(own, {
    facts: `${counts} differed game_id`,
    people: 'person_id',
    rest: 'conference_id rubric_version_id',
  }),
  game_coverage: holding(null, { rest: 'conference_id game_id observers_wanted film_allowed' }),
  import_file: holding(by('imported_by'), {
    facts: 'kind added changed unchanged imported_at',
    people: 'imported_by',
    words: 'file_name',
    rest: 'conference_id id sha256',
  }),
  import_upload: holding(own, { facts: 'kept_at', people: 'person_id', rest: 'conference_id id' }),
  import_upload_file: holding(`t.conference_id = $1 AND ${ownUpload}`, {
    facts: 'kind',
    words: 'file_name',
    rest: 'conference_id upload_id number',
  }),
  import_upload_piece: holding(null, { kept: 'bytes', rest: 'conference_id upload_id number piece' }),
  inquiry: holding(`t.conference_id = $1 AND (t.made_by = $2 OR t.taken_up_by = $2)`, {
    facts:
      'id season_id game_id team_id number state category quarter clock_seconds play_id made_at received_at due_on taken_up_at sent_back_because sent_back_at reopened_at released_at closed_at',
    people: 'made_by taken_up_by',
    words: 'film question sent_back_reason new_film',
    rest: 'conference_id decisive version',
  }),
  inquiry_answer: holding(
    `t.conference_id = $1 AND (t.answered_by = $2 OR EXISTS (SELECT FROM inquiry i WHERE i.conference_id = $1
       AND i.id = t.inquiry_id AND i.made_by = $2))`,
    {
      facts: 'inquiry_id round game_id ruling answered_at',
      people: 'answered_by',
      words: 'rule reason',
      kept: 'pdf',
      rest: 'conference_id sha256',
    },
  ),
  inquiry_reading: holding(by('reader_id'), {
    facts: 'inquiry_id round game_id asked_at ruling read_at',
    people: 'reader_id asked_by',
    words: 'words differs',
    rest: 'conference_id',
  }),
  inquiry_setting: holding(null, {
    words: 'notice',
    rest: 'conference_id a_week window_hours answer_days',
  }),
  inquiry_statement: holding(own, {
    facts: 'inquiry_id game_id asked_at given_at',
    people: 'person_id asked_by',
    words: 'asked text',
    rest: 'conference_id',
  }),
  invitation: holding(own, { facts: 'state asked_at', people: 'person_id asked_by', rest: 'conference_id' }),
  kept_result: holding(null, {
    rest: 'conference_id season_id kind input_revision result computed_at basis method',
  }),
  known_device: holding(own, {
    facts: 'last_seen_at',
    people: 'person_id',
    kept: 'token_hash',
    rest: 'conference_id',
  }),
  letter: holding(
    own,
    {
      facts: 'id season_id kind edition sha256 created_at read_at released_at position pages',
      people: 'person_id',
      words: 'data remark grounds',
      kept: 'pdf',
      rest: 'conference_id input_revision template_version',
    },
    { notYet: 't.released_at IS NULL' },
  ),
  letter_batch: holding(by('created_by'), {
    facts: 'kind paper issued_on reply_by created_at season_id',
    people: 'created_by',
    rest: 'conference_id id',
  }),
  letter_job: holding(
    own,
    {
      facts: 'state attempts finished_at letter_id',
      people: 'person_id',
      words: 'error',
      rest: 'conference_id batch_id',
    },
    { notYet: 'true' },
  ),
  letter_template: holding(by('created_by'), {
    facts: 'kind version created_at',
    people: 'created_by',
    words: 'body',
    rest: 'conference_id id',
  }),
  log_mapping: holding(by('changed_by'), {
    facts: 'changed_at',
    people: 'changed_by',
    words: 'name mapping',
    rest: 'conference_id id columns',
  }),
  mail_key: holding(null, { kept: 'key', rest: 'conference_id' }),
  message: holding(own, {
    facts: 'kind happened_at read_at mail not_mailed_because digest attempts next_attempt sent_at',
    people: 'person_id',
    words: 'facts once last_error',
    rest: 'conference_id id about_id',
  }),
  narration: holding(by('made_by'), {
    facts: 'id program_id play_id seconds made_at let_go_at',
    people: 'made_by',
    rest: 'conference_id bytes sha256',
  }),
  observation: holding(
    `t.conference_id = $1 AND (t.person_id = $2 OR ${ownReport('t.report_id')})`,
    {
      facts:
        'id report_id play_id position duty_key finding consequence standing version created_at updated_at removed_at',
      people: 'person_id',
      words: 'comment',
      rest: 'conference_id change_id',
    },
    { notYet: notReleased },
  ),
  observer_absence: holding(own, {
    facts: 'first_day last_day away_from',
    people: 'person_id',
    words: 'note',
    rest: 'conference_id id',
  }),
  observer_assignment: holding(by('observer_id'), {
    facts: 'game_id how answer offered_at answered_at locked withdrawn_at revision changed_at',
    people: 'observer_id',
    words: 'override_reason decline_reason',
    rest: 'conference_id id',
  }),
  observer_conflict: holding(own, {
    facts: 'kind team_id crew_id declared_at',
    people: 'person_id official_id',
    words: 'note',
    rest: 'conference_id id',
  }),
  observer_plan_setting: holding(null, {
    rest: 'conference_id season_id observers_per_game crew_times_seen crew_different_observers price_film price_repeated_pair price_load price_information',
  }),
  observer_profile: holding(own, {
    facts: 'watches_in_person watches_film weekly_limit season_limit travel_limit_miles',
    people: 'person_id',
    kept: 'calendar_token_hash',
    rest: 'conference_id',
  }),
  official_fact: holding(own, {
    facts:
      'season_id years_of_service fitness_passed fitness_until rules_test_score good_standing available days_away postseasons_lately entered_how entered_at',
    people: 'person_id entered_by',
    words: 'standing_reason',
    rest: 'conference_id revision',
  }),
  official_tie: holding(own, {
    facts: 'team_id entered_at',
    people: 'person_id entered_by',
    words: 'note',
    rest: 'conference_id',
  }),
  opportunity_count: holding(
    own,
    {
      facts: `${counts} undecided unwatched set_aside set_aside_not_met likely report_id`,
      people: 'person_id',
      rest: 'conference_id',
    },
    { notYet: notReleased },
  ),
  password_request: holding(`t.email = ${address}`, { facts: 'asked_at email', rest: 'id' }),
  pattern_setting: holding(null, {
    rest: 'conference_id season_id false_discovery_rate minimum_opportunities minimum_games',
  }),
  person: holding(by('id'), {
    facts:
      'email given_name family_name active home_place home_latitude home_longitude created_at mail_wanted mail_refused_at mail_refused_because erased_at',
    people: 'id',
    kept: 'password_hash',
    rest: 'conference_id',
  }),
  quiz: holding(by('made_by'), {
    facts:
      'id season_id opens_at closes_at minutes starts hours_between counts draws audience positions crew_id made_at announced_at',
    people: 'made_by',
    words: 'title',
    rest: 'conference_id',
  }),
  quiz_answer: holding(
    `EXISTS (SELECT FROM quiz_attempt a WHERE a.conference_id = $1 AND a.id = t.attempt_id AND a.official_id = $2)
       AND t.conference_id = $1`,
    {
      facts: 'attempt_id place question_id version choice answered_at late_choice late_at',
      rest: 'conference_id',
    },
  ),
  quiz_attempt: holding(by('official_id'), {
    facts: 'id quiz_id number begun_at ended_at ended_by',
    people: 'official_id',
    rest: 'conference_id',
  }),
  quiz_pool: holding(null, { rest: 'conference_id quiz_id question_id place' }),
  quiz_question: holding(null, { words: 'label', rest: 'conference_id id retired_at made_at' }),
  quiz_question_version: holding(by('written_by'), {
    facts: 'question_id version code positions written_at',
    people: 'written_by',
    words: 'text choices explanation rule mechanic',
    rest: 'conference_id answer',
  }),
  quiz_taker: holding(by('official_id'), {
    facts: 'quiz_id extra_minutes extra_starts open_until',
    people: 'official_id',
    words: 'reason',
    rest: 'conference_id',
  }),
  quiz_weight: holding(by('announced_by'), {
    facts: 'season_id percent announced_at',
    people: 'announced_by',
    rest: 'conference_id',
  }),
  team_contact: holding(own, { facts: 'team_id', people: 'person_id', rest: 'conference_id' }),
  person_role: holding(own, { facts: 'role', people: 'person_id', rest: 'conference_id' }),
  play: holding(null, {
    words: 'note facts',
    rest: 'conference_id id game_id number kind spot quarter clock_seconds down distance film_seconds version removed_at change_id',
  }),
  reel: holding(by('asked_by'), {
    facts: 'program_id edition_number state asked_at',
    people: 'asked_by',
    words: 'plan',
    rest: 'conference_id id burned_in facts bytes failed trouble progress in_hand_of in_hand_until attempts',
  }),
  recovery_code: holding(own, {
    facts: 'used_at',
    people: 'person_id',
    kept: 'code_hash',
    rest: 'conference_id',
  }),
  result_underway: holding(null, { rest: 'conference_id season_id kind run until' }),
  reply: holding(`t.conference_id = $1 AND (t.official_id = $2 OR ${ownMarkAnswered})`, {
    facts: 'id observation_id created_at',
    people: 'official_id',
    words: 'text',
    rest: 'conference_id',
  }),
  reply_opening: holding(own, { facts: 'report_id open_until', people: 'person_id', rest: 'conference_id' }),
  report: holding(by('observer_id'), {
    facts: 'id season_id game_id state revision created_at filed_at accepted_at released_at reply_until',
    people: 'observer_id',
    words: 'general_comment returned_reason watched',
    rest: 'conference_id rubric_version_id counts_method counted_share_least',
  }),
  report_change: holding(
    `t.conference_id = $1 AND (t.made_by = $2 OR ${mentions('content')} OR ${mentions('theirs')})`,
    {
      facts: 'report_id kind outcome received_at',
      people: 'made_by',
      words: 'content theirs',
      rest: 'conference_id id resolves',
    },
    { partly: 't.made_by <> $2', notYet: 't.made_by <> $2' },
  ),
  report_revision: holding(
    `t.conference_id = $1 AND (t.made_by = $2 OR ${ownReport('t.report_id')} OR ${mentions('content')})`,
    {
      facts: 'report_id revision made_at',
      people: 'made_by',
      words: 'reason content',
      rest: 'conference_id',
    },
    { partly: `NOT ${ownReport('t.report_id')}` },
  ),
  retention_setting: holding(null, {
    rest: 'conference_id remarks_years letters_years absences_years messages_years tokens_years people_years nightly looked_on',
  }),
  rubric_version: holding(by('created_by'), {
    facts: 'number created_at',
    people: 'created_by',
    words: 'note',
    rest: 'conference_id id season_id none_weight yards_weight possession_weight score_weight code practices',
  }),
  ruling: holding(`t.conference_id = $1 AND (t.ruled_by_id = $2 OR ${ownReply})`, {
    facts: 'reply_id ruling changed_to ruled_at',
    people: 'ruled_by_id',
    words: 'note',
    rest: 'conference_id',
  }),
  season: holding(null, {
    words: 'name',
    rest: 'conference_id id crew_size minimum_games minimum_opportunities postseason_places input_revision created_at state opened_from_id closed_at fixed_model calibration_in_severity last_season_in_grades',
  }),
  season_availability: holding(own, {
    facts: 'season_id asked_at answered_at',
    people: 'person_id',
    words: 'note',
    rest: 'conference_id',
  }),
  season_book: holding(null, { kept: 'pdf', rest: 'conference_id season_id closed_at sha256' }),
  season_departure: holding(own, { facts: 'season_id', people: 'person_id', rest: 'conference_id' }),
  season_step: holding(by('answered_by'), {
    facts: 'season_id step answer answered_at',
    people: 'answered_by',
    rest: 'conference_id',
  }),
  season_week: holding(null, { rest: 'conference_id season_id number first_day last_day' }),
  season_week_away: holding(own, { facts: 'season_id week', people: 'person_id', rest: 'conference_id' }),
  second_factor: holding(own, {
    facts: 'begun_at confirmed_at',
    people: 'person_id',
    kept: 'secret',
    rest: 'conference_id last_step',
  }),
  selection: holding(
    `t.conference_id = $1 AND $2 IN (t.made_by, t.proposed_by, t.voting_by, t.opened_by, t.closed_by)`,
    {
      facts: 'id season_id state made_at proposed_at voting_at opened_at closed_at',
      people: 'made_by proposed_by voting_by opened_by closed_by',
      words: 'title opened_because basis proposal',
      rest: 'conference_id rules weights answer_by embargo_until revision',
    },
    { partly: 'true' },
  ),
  selection_ballot: holding(
    `t.conference_id = $1 AND (t.member_id = $2 OR t.official_id = $2)`,
    {
      facts: 'selection_id game_id position vote written_at',
      people: 'member_id official_id',
      words: 'note',
      rest: 'conference_id',
    },
    {
      notYet: `t.member_id <> $2 AND (${selectionNotClosed} OR ${neverCounted})`,
      sealed: `${stillSealed} OR ${neverCounted}`,
    },
  ),
  selection_choice: holding(
    by('official_id'),
    {
      facts: 'selection_id game_id slot position played_on chosen_at',
      people: 'official_id chosen_by',
      words: 'reason',
      rest: 'conference_id',
    },
    { notYet: selectionNotClosed },
  ),
  selection_conflict: holding(
    `t.conference_id = $1 AND (t.member_id = $2 OR t.official_id = $2)`,
    {
      facts: 'selection_id declared_at',
      people: 'member_id official_id',
      words: 'reason',
      rest: 'conference_id',
    },
    { notYet: `t.member_id <> $2 AND ${selectionNotClosed}`, sealed: stillSealed },
  ),
  selection_game: holding(null, {
    words: 'name home_name visitor_name place',
    rest: 'conference_id id selection_id played_on kickoff home_team_id visitor_team_id venue_id latitude longitude crew_size alternates whole_crew',
  }),
  selection_member: holding(own, {
    facts: 'selection_id kind added_at conflicts_declared_at sealed_at',
    people: 'person_id added_by',
    rest: 'conference_id',
  }),
  selection_offer: holding(by('official_id'), {
    facts: 'id selection_id game_id slot position offered_at answer_by embargo_until answer answered_at',
    people: 'official_id offered_by recorded_by',
    words: 'reason recorded_note',
    rest: 'conference_id',
  }),
  selection_pass_over: holding(
    by('official_id'),
    {
      facts: 'selection_id game_id slot kind recorded_at',
      people: 'official_id chosen_id recorded_by',
      words: 'reason',
      rest: 'conference_id',
    },
    { notYet: selectionNotClosed },
  ),
  selection_record: holding(by('made_by'), {
    facts: 'selection_id made_at gone_because',
    people: 'made_by',
    kept: 'pdf named',
    rest: 'conference_id sha256',
  }),
  session: holding(own, {
    facts: 'created_at last_seen_at expires_at season_id',
    people: 'person_id',
    kept: 'token_hash csrf_token',
    rest: 'conference_id',
  }),
  sign_in_attempt: holding(null, { kept: 'key', rest: 'failures open_at forgotten_at' }),
  team: holding(null, { words: 'name', rest: 'conference_id id venue_id' }),
  training_answer: holding(own, {
    facts: 'program_id edition_number play_number choice is_right how answered_at',
    people: 'person_id',
    rest: 'conference_id',
  }),
  training_attended: holding(own, {
    facts: 'session_id ticked_at',
    people: 'person_id ticked_by',
    rest: 'conference_id',
  }),
  training_audience: holding(null, {
    rest: 'conference_id program_id edition_number audience position crew_id names_shown',
  }),
  training_cut: holding(by('changed_by'), {
    facts: 'program_id play_id changed_at',
    people: 'changed_by',
    rest: 'conference_id cut version',
  }),
  training_edition: holding(by('released_by'), {
    facts: 'number released_at program_id',
    people: 'released_by',
    words: 'note content sources',
    rest: 'conference_id cuts',
  }),
  training_notice: holding(own, {
    facts: 'program_id confirmed_at',
    people: 'person_id',
    words: 'notice',
    rest: 'conference_id',
  }),
  training_play: holding(null, {
    words: 'topic answer rule_cited mechanic_cited first_key second_key question choices narration',
    rest: 'conference_id program_id play_id place aspect showing position duty_key answered_on two_mechanics seconds_before seconds_after version',
  }),
  training_program: holding(by('changed_by'), {
    facts: 'id season_id changed_at',
    people: 'changed_by',
    words: 'title goal last_change before_last',
    rest: 'conference_id created_at audience audience_position audience_crew_id minutes due_on code most_bad share_needed all_questions remind_days version frame_version order_version',
  }),
  training_session: holding(by('made_by'), {
    facts: 'id program_id edition_number held_on make_up_by made_at',
    people: 'made_by',
    words: 'place',
    rest: 'conference_id',
  }),
  training_setting: holding(null, { words: 'notice', rest: 'conference_id objection_days' }),
  training_shown: holding(own, {
    facts: 'program_id play_id position told_at object_until objected_at decision decided_at',
    people: 'person_id told_by decided_by',
    words: 'reason decision_reason',
    rest: 'conference_id',
  }),
  training_viewer: holding(own, {
    facts: 'program_id edition_number because added_at opened_at place stretches plays done_at',
    people: 'person_id added_by',
    rest: 'conference_id',
  }),
  venue: holding(null, { words: 'name place', rest: 'conference_id id latitude longitude time_zone' }),
  webhook: holding(by('created_by'), {
    facts: 'address created_at events paused_at paused_because',
    people: 'created_by',
    kept: 'secret earlier_secret',
    rest: 'conference_id id earlier_until in_hand_until',
  }),
  webhook_delivery: holding(null, {
    words: 'answer',
    rest: 'conference_id id webhook_id event facts happened_at state attempts next_attempt tried_at status error settled_at',
  }),
  working_crew_member: holding(own, {
    facts: 'game_id position',
    people: 'person_id',
    rest: 'conference_id',
  }),
};

export const columnsOf = (one: Holding): string[] => [
  ...one.facts,
  ...one.people,
  ...one.words,
  ...one.kept,
  ...one.rest,
];
