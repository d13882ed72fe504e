/**
 * What each tissue does to sound. Orders of magnitude of textbooks, from memory (S-phantom-tissue); their use here is
 * to make pictures of the right kind, not to measure tissue.
 *
 *   echoDb        backscatter about that of pelvic soft tissue
 *   attenuation   dB/cm/MHz, one way
 *   speedMmPerUs  speed of sound; the display takes 1.54 everywhere
 *   impedance     MRayl; its step at a surface gives the surface's echo
 *   patchDb       how blotchy the tissue is on the scale of a centimetre
 *   strandDb      how far strands of connective tissue stand out
 */
export interface Tissue {
  readonly echoDb: number;
  readonly attenuation: number;
  readonly speedMmPerUs: number;
  readonly impedance: number;
  readonly patchDb: number;
  readonly strandDb: number;
  /** Bone and gas let nothing through. */
  readonly opaque?: 'bone' | 'gas';
}

const tissue = (
  echoDb: number,
  attenuation: number,
  speedMmPerUs: number,
  impedance: number,
  patchDb: number,
  strandDb = 0,
): Tissue => ({ echoDb, attenuation, speedMmPerUs, impedance, patchDb, strandDb });

export const tissues = {
  urine: tissue(-62, 0.004, 1.53, 1.55, 0),
  sediment: tissue(-17, 0.06, 1.54, 1.57, 3),
  fluid: tissue(-55, 0.01, 1.53, 1.55, 0),
  balloonSkin: tissue(4, 0.6, 1.5, 1.85, 0),
  bladderWall: tissue(-5, 0.6, 1.56, 1.66, 1),
  pelvic: tissue(-1, 0.5, 1.54, 1.62, 8, 9),
  prostate: tissue(-3, 0.55, 1.56, 1.64, 4),
  uterus: tissue(-2, 0.6, 1.57, 1.65, 4),
  bowelWall: tissue(-8, 0.6, 1.56, 1.66, 1),
  bowelContent: tissue(-2, 0.6, 1.54, 1.6, 9, 6),
  sideMuscle: tissue(-5, 0.75, 1.58, 1.69, 4, 6),
  blood: tissue(-36, 0.15, 1.57, 1.66, 0),
  skin: tissue(5, 0.9, 1.6, 1.72, 1),
  fat: tissue(-5, 0.55, 1.45, 1.4, 5, 8),
  septum: tissue(6, 0.6, 1.52, 1.6, 3),
  muscle: tissue(-2, 0.8, 1.58, 1.7, 4, 6),
  deepFat: tissue(2, 0.55, 1.45, 1.42, 2),
  bone: { ...tissue(-40, 20, 3, 5.5, 0), opaque: 'bone' },
  gas: { ...tissue(-40, 20, 1.54, 0.1, 0), opaque: 'gas' },
} as const satisfies Record<string, Tissue>;

export type TissueName = keyof typeof tissues;

/** Speed of sound that the display takes everywhere, mm/µs: the convention of scanners (S-clinical-A18). */
export const displaySpeedMmPerUs = 1.54;
