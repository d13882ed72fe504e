/**
 * What a made-up ward writes down: lines in the open format `wardlog-1`, so that `JSON.stringify` of one is a line of
 * a log. Only what the generators use of the format.
 *
 * Units     whole mL, g, kg, minutes; instants ISO 8601 with offset
 * Source    S-wardlog-1
 */
export interface LineStamp {
  readonly id: string;
  readonly patient: string;
  readonly at: string;
  readonly atQuality: 'exact' | 'rounded' | 'unknown';
  readonly recordedAt: string;
  readonly source: 'typed' | 'device';
}

export interface WatchFields {
  readonly kind: 'watch';
  readonly setting: SimulatedSetting;
  readonly ageY: number;
  readonly sex: 'female' | 'male';
  readonly weightKg: number;
  readonly limitMl: number;
  readonly ownCapacityMl?: number;
  readonly cautions: readonly ('ascites' | 'large-uterus' | 'obesity')[];
  readonly catheterInPlace: boolean;
  readonly lastVoidAt?: string;
}
export interface ContextFields {
  readonly kind: 'context';
  readonly topic: 'regional-block' | 'opioid' | 'dialysis' | 'loop-diuretic';
  readonly state: 'present' | 'worn-off' | 'given' | 'little-or-no-urine';
  readonly route?: 'oral' | 'iv';
  readonly doseMg?: number;
}
export interface IntakeFields {
  readonly kind: 'intake';
  readonly volumeMl: number;
  readonly route: 'oral' | 'iv';
  readonly overMin?: number;
}
export interface VoidFields {
  readonly kind: 'void';
  readonly measured: boolean;
  readonly class: 'jug' | 'mixed-stool' | 'toilet' | 'shower' | 'bed' | 'pad';
  readonly volumeMl?: number;
  readonly size?: 'small' | 'medium' | 'large';
  readonly padG?: number;
  readonly sinceAt?: string;
}
export interface ReadingFields {
  readonly kind: 'reading';
  readonly volumeMl: number;
  readonly bound: 'exact' | 'at-least';
  readonly doubts: readonly ('cut-below' | 'second-fluid' | 'unsure-aim' | 'poor-contact' | 'moved')[];
  readonly afterVoid: boolean;
  readonly minutesSinceVoid?: number;
  readonly look: string;
  readonly device?: string;
  readonly operator?: string;
}
export interface DrainedFields {
  readonly kind: 'drained';
  readonly measured: boolean;
  readonly route: 'in-out';
  readonly volumeMl?: number;
  readonly operator?: string;
}
export interface SymptomFields {
  readonly kind: 'symptom';
  readonly symptom: 'urge-cannot-pass' | 'lower-belly-pain' | 'restless' | 'tried-nothing-passed';
  readonly severity?: number;
}

export type SimulatedSetting =
  | 'after-surgery'
  | 'catheter-removed'
  | 'after-birth'
  | 'stroke'
  | 'spinal-cord';

/** What was written down, without when and in which chart. */
export type LineFields =
  | WatchFields
  | ContextFields
  | IntakeFields
  | VoidFields
  | ReadingFields
  | DrainedFields
  | SymptomFields;

export type SimulatedLine = LineStamp & LineFields;
