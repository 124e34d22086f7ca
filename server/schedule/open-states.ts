/**
 * States that many parts ask for in SQL, each list once. By which steps a state becomes another is said by the part whose
 * state it is (`reports/states.ts`, `inquiries/rules/states.ts`).
 */
const sqlList = (states: readonly string[]): string => `(${states.map((state) => `'${state}'`).join(', ')})`;

/** Of a report that its observer has handed in. */
export const handedIn: readonly string[] = ['filed', 'accepted', 'released'];
/** Of a report that its observer still works on. */
export const unfiled: readonly string[] = ['draft', 'returned'];
/** Of an inquiry that waits for the conference. */
export const openInquiry: readonly string[] = ['received', 'taken up', 'crew asked', 'under review'];

/** SQL: reports that their observers have handed in. */
export const handedInStates = sqlList(handedIn);
/** SQL: reports that their observers still work on. */
export const unfiledStates = sqlList(unfiled);
/** SQL: inquiries that wait for the conference. */
export const openInquiryStates = sqlList(openInquiry);
