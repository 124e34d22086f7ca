/** The parts of jstat that are used here; the package has no types of its own. */
declare module 'jstat' {
  interface Distribution {
    pdf(x: number, ...parameters: number[]): number;
    cdf(x: number, ...parameters: number[]): number;
    inv(p: number, ...parameters: number[]): number;
  }
  const jstat: {
    jStat: {
      normal: Distribution;
      studentt: Distribution;
      chisquare: Distribution;
      beta: Distribution;
      centralF: Distribution;
      hypgeom: Pick<Distribution, 'pdf' | 'cdf'>;
      gammaln(x: number): number;
      binomial: Pick<Distribution, 'pdf' | 'cdf'>;
    };
  };
  export default jstat;
}
