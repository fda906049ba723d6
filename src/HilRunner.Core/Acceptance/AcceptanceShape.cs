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
        var seed = keys.Default("seed", Shapes.Unsigned, "1", "Seed of the order and of all noise.");
        var customer = keys.Optional("customer", Shapes.Text("who asked for it", "the courier service"), "For the evidence: who asked for it.");
        var laboratory = keys.Optional("laboratory", Shapes.Text("who plays it, and where", "bench 2, first floor"), "For the evidence: who plays it, and where.");
        var item = keys.Optional("item", Shapes.Text("what the device is", "parcel tag, revision C, serial 0042"), "For the evidence: what the device is.");
        keys.Check((entries, reading) =>
        {
            if (entries.TryGet(claims, out var stated) && stated.Count == 0) { reading.Refuse(entries.NodeOf(claims), "no claim", "at least one limit with a confidence"); }
        });
        return (entries, _) => new AcceptancePlan
        {
            Name = entries.Get(name),
            Scenarios = [.. entries.Get(scenarios).SelectMany(s => s).Distinct(StringComparer.Ordinal)],
            Claims = entries.Get(claims),
            Seed = entries.Get(seed),
            Customer = entries.Maybe(customer),
            Laboratory = entries.Maybe(laboratory),
            Item = entries.Maybe(item),
        };
    });
}
