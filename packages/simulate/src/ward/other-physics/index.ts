export { otherPatient } from './other-patient.ts';
