/** The reader library ships no types; this is the part we use. */
declare module 'dmn-moddle' {
  export class DmnModdle {
    fromXML(xml: string, type: string): Promise<unknown>;
  }
}
