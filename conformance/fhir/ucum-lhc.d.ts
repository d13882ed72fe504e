// The part of the UCUM library that the tests use; the package ships no types.
declare module '@lhncbc/ucum-lhc' {
  export const UcumLhcUtils: {
    getInstance(): { validateUnitString(unit: string): { readonly status: 'valid' | 'invalid' | 'error' } };
  };
}
