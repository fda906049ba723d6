using HilRunner.Core.Documents;
using HilRunner.Core.Scenarios;

namespace HilRunner.Core.Acceptance;

/// <summary>The whole plan file.</summary>
internal static class AcceptanceShape
{
    public static Shape<AcceptancePlan> Shape { get; } = MapShape.Of<AcceptancePlan>("Acceptance plan", "an acceptance plan", keys =>
    {
        var name = keys.Required("acceptance", Shapes.Text("the plan's name", "first field trial"), "Name of the plan.");
        var scenarios = keys.Required("scenarios", SuiteShape.Files, "Scenario files, as in a suite; each is played once.");
        var claims = keys.Required("claims", LimitShape.Pooled, "What is to be shown: limits, each with its confidence, judged once over the independent trials of all runs.");
        var hold = keys.Optional("hold", ScenarioShape.Hold,
            "Must be said: how long a state must hold without a break to be recognised, in every scenario of the plan. 0 s: an instant will do.");
        var sequential = keys.Optional("sequential", Sequential(), "Test trial by trial, in an order drawn by the seed, and end as soon as every claim is accepted or one is refused. Then each claim is on recognised, at_least a share.");
        var delivery = keys.Default(
            "delivery", new WordShape<DeliveryRule>(
                ("shown", DeliveryRule.Shown), ("not shown is accepted", DeliveryRule.NotShownIsAccepted)), "shown",
            "Whether every run that counts must show that every sample reached the device and every message of it the host, or whether it is enough that nothing disproves it; the evidence says so then.");
        var hearing = keys.Default(
            "hearing_nothing", new WordShape<bool>(("refused", false), ("accepted", true)), "refused",
            "Whether the plan may accept a device that hears nothing of what is played: one that says one class all the time, cycles through them or guesses. A plan that would is refused, with the claim that is missing, unless it is meant so.");
        var seed = keys.Default("seed", Shapes.Unsigned, "1", "Seed of the order and of all noise.");
        var customer = keys.Optional("customer", Shapes.Text("who asked for it", "the courier service"), "For the evidence: who asked for it.");
        var laboratory = keys.Optional("laboratory", Shapes.Text("who plays it, and where", "bench 2, first floor"), "For the evidence: who plays it, and where.");
        var item = keys.Optional("item", Shapes.Text("what the device is", "parcel tag, revision C, serial 0042"), "For the evidence: what the device is.");
        keys.Check((entries, reading) =>
        {
            // Plans that were fixed before it was asked for stand as they are.
            if (!entries.Has(hold) && !reading.Stored)
            {
                reading.Faults.Add(entries.Node, "a plan that does not say hold", "how long a state must hold to be recognised",
                    "say hold: 0.5 s, for instance; with hold: 0 s a flicker of an instant is enough");
            }
            if (entries.TryGet(claims, out var stated) && stated.Count == 0) { reading.Refuse(entries.NodeOf(claims), "no claim", "at least one limit with a confidence"); }
            if (!entries.TryGet(sequential, out var rule) || stated is null) { return; }
            foreach (var claim in stated.Where(c => c.Measure != Measure.Recognised || c.AtLeast is not (> 0 and < 1)))
            {
                reading.Refuse(entries.NodeOf(claims), $"a claim on {Measures.Of(claim.Measure).Word} in a sequential plan", "claims on recognised, at_least a share, alone: only shares are tested trial by trial");
            }
            if (stated.Any(c => c.AtLeast >= rule.Good))
            {
                reading.Refuse(entries.NodeOf(sequential), FormattableString.Invariant($"good: {rule.Good}"), "a share above that of every claim: what lies between the two is left to chance");
            }
        });
        return (entries, _) => new AcceptancePlan
        {
            Name = entries.Get(name),
            Scenarios = [.. entries.Get(scenarios).SelectMany(s => s).Distinct(StringComparer.Ordinal)],
            Claims = entries.Get(claims),
            HoldNs = entries.MaybeValue(hold) ?? 0,
            Delivery = entries.Get(delivery),
            HearingNothingIsAccepted = entries.Get(hearing),
            Sequential = entries.Maybe(sequential),
            Seed = entries.Get(seed),
            Customer = entries.Maybe(customer),
            Laboratory = entries.Maybe(laboratory),
            Item = entries.Maybe(item),
        };
    });

    private static MapShape<SequentialRule> Sequential() => MapShape.Of<SequentialRule>("Sequential plan", "a map such as {good: 0.98, risk: 0.05}", keys =>
    {
        var good = keys.Required("good", Shapes.Quantity(UnitKind.Share, "0", "0.999999", aboveMin: true), "Share recognised, above that of every claim, at which a device should be accepted.");
        var risk = keys.Default("risk", Shapes.Quantity(UnitKind.Share, "0", "0.5", aboveMin: true), "0.05", "Chance, at most, of not accepting such a device. The chance of accepting one that just misses a claim is what its confidence leaves.");
        var most = keys.Optional("most", Shapes.Integer(1, 100_000), "Independent trials after which it ends at the latest. Absent: all that the recordings give.");
        return (entries, _) => new(entries.Get(good), entries.Get(risk), entries.MaybeValue(most));
    });
}
