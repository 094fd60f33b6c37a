// No accessibility problem that axe can find, in every stage and place, light and dark.
import { expect, test } from "../strawline.mjs";
import { axe } from "../support/axe.mjs";
import { VIEWS } from "../support/views.mjs";

for (const colorScheme of ["light", "dark"]) {
  test.describe(colorScheme, () => {
    test.use({ colorScheme });

    test("the first screen @everywhere", async ({ app, page }) => {
      await app.open();
      expect(await axe(page)).toEqual([]);
    });

    for (const [name, come] of Object.entries(VIEWS)) {
      test(name, async ({ app, page }) => {
        await app.open();
        await app.demo();
        await come(app);
        expect(await axe(page)).toEqual([]);
      });
    }
  });
}
