import type { Role } from '@ebbline/core/record';

export const roleWords: Readonly<Record<Role, string>> = {
  aide: 'health-care assistant',
  nurse: 'nurse',
  midwife: 'midwife',
  'charge-nurse': 'charge nurse',
  'specialist-nurse': 'specialist nurse',
  'called-clinician': 'doctor on call',
  assessor: 'assessor',
  'clinical-engineer': 'clinical engineer',
  manager: 'manager',
  'privacy-officer': 'privacy officer',
  analyst: 'analyst',
  integration: 'integration',
  administrator: 'administrator',
};
