/** How a volume was worked out. */
export type VolumeMethod =
  | 'calipers'
  | 'half-sum'
  | 'discs'
  | 'rotational-fan'
  | 'tilt-sweep'
  | 'parallel-sweep'
  | 'two-planes-diameters'
  | 'two-planes-discs'
  | 'closed-mesh';

/**
 * A volume and how it was got. `coefficient` is the factor that stands before the measured product or sum; for an
 * integral over a layout it is 1, since nothing about the shape was assumed.
 *
 * Units     mL
 */
export interface Volume {
  readonly volumeMl: number;
  readonly method: VolumeMethod;
  readonly coefficient: number;
  readonly coefficientSource: string;
}
