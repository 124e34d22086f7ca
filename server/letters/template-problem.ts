/** What is wrong with a template, where, and what to write instead. Lines and columns count from 1. */
export interface TemplateProblem {
  line: number;
  column: number;
  message: string;
}
