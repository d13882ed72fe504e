export { patientBundle, type PatientBundleInput } from './patient-bundle.ts';
export { codeTable, localSystem, type CodeKey, type CodeRow, type CodeTable } from './codes.ts';
export { localCodeSystem } from './code-system.ts';
export { checkBundle, checkResource } from './rules.ts';
export { unitWords, type Bundle, type BundleEntry, type Resource } from './resource.ts';
export { planDefinition, type PlanDefinitionInput } from './plan-definition.ts';
