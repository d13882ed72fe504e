/** The address by which a protocol is known, whatever its version. */
export const planUrl = (protocolId: string): string =>
  `https://ebbline.example/fhir/PlanDefinition/${encodeURIComponent(protocolId)}`;
