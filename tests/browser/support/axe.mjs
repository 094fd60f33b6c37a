// Accessibility of what is on the screen, by axe-core with all its rules for WCAG 2 A, AA and good practice.
import AxeBuilder from "@axe-core/playwright";

/** What axe finds, a line each: rule, element, why. */
export async function axe(page) {
  const { violations } = await new AxeBuilder({ page }).analyze();
  return violations.flatMap(({ id, nodes }) => nodes.map((node) => `${id}: ${node.target.join(" ")}: ${node.failureSummary.replace(/\s+/g, " ")}`));
}
