import type { PlanOptions } from "../../plan/options.js";
import { planStars } from "../../plan/plan.js";
import { planReport } from "../../report/plan-report.js";
import { parseTime } from "../../sky/time.js";
import { type AnswerOptions, give } from "../answer.js";
import { mountPathFor } from "../night-input.js";
import { knownTonight } from "../standing.js";

export interface PlanCommandOptions extends AnswerOptions {
  readonly mount?: string;
  readonly from: string;
  readonly stars?: number;
  readonly night?: string;
  readonly model?: string;
  readonly toLearn?: string;
  readonly minutes?: number;
  readonly faintest?: number;
  readonly teach?: boolean;
  readonly daylight?: boolean;
}

/** `polewright plan --from TIME`. */
export async function planCommand(options: PlanCommandOptions): Promise<void> {
  const { mount, night, standing } = knownTonight(
    mountPathFor(options.night, options.mount),
    options.night,
    options.model,
  );
  const chosen = {
    stars: options.stars,
    toLearn: options.toLearn,
    minutesBetween: options.minutes,
    faintest: options.faintest,
    order: options.teach ? "teach" : undefined,
    daylight: options.daylight,
  } as PlanOptions;
  const plan = planStars(mount, parseTime(options.from), chosen, { standing, night });
  await give(
    {
      json: { ...plan },
      reports: [planReport(plan)],
      sound: true,
      figures: async () => {
        const { planSky } = await import("../../plots/plan-sky.js");
        return [planSky(plan, mount.site.latitude, mount.limits)];
      },
    },
    options,
  );
}
