/**
 * A cell that a spreadsheet would take for a formula is disarmed by an apostrophe before it (OWASP, "CSV Injection":
 * cells that begin with = + - @, tab or carriage return, or their full-width forms). Numbers are no formulas. Reading
 * takes the apostrophe away again, so that what is exported and imported again is the same.
 */
const formula = /^'*[=+\-@\t\r\n＝＋－＠]/;
const number = /^[+-]?\d+([.,]\d+)?$/;

export const disarmed = (text: string): string =>
  formula.test(text) && !number.test(text) ? `'${text}` : text;

export const rearmed = (text: string): string =>
  text.startsWith("'") && formula.test(text) ? text.slice(1) : text;
