using System.Diagnostics.CodeAnalysis;
using System.Text.Json.Nodes;
using HilRunner.Core.Documents;

namespace HilRunner.Core.Scenarios;

/// <summary>One limit: a measure and a bound in the measure's own unit.</summary>
internal static class LimitShape
{
    public static Shape<Limit> Shape { get; } = MapShape.Of<Limit>("Limits", "a limit, such as {measure: accuracy, at_least: 0.95}", keys =>
    {
        var measure = keys.Required("measure", new WordShape<MeasureInfo>([.. Measures.All.Select(m => (m.Word, m))]), "What is limited: " + MeasuresDoc);
        var name = keys.Optional("class", ClassNames.Name, "Only this class. Absent: all classes together.");
        var statistic = keys.Optional("statistic", new WordShape<Statistic>(("p50", Statistic.P50), ("p90", Statistic.P90), ("p95", Statistic.P95),
            ("p99", Statistic.P99), ("max", Statistic.Max), ("mean", Statistic.Mean)), $"Needed for {StatisticWords}, and only there.");
        var atMost = keys.Optional("at_most", new BoundShape(), "Upper bound: a share for shares, a duration for times, a number for counts and rates, ppm or % for clock rates.");
        var atLeast = keys.Optional("at_least", new BoundShape(), "Lower bound, likewise.");
        var confidence = keys.Optional("confidence", Shapes.Quantity(UnitKind.Share, "0", "0.999999", aboveMin: true),
            "Confidence of the claim, above 0 and below 1. Such a limit is judged once, over a suite's pooled trials.");
        var output = keys.Optional("output", Shapes.Text("the name of an output", "activity"), "Only this output of the device. Absent: each of them.");
        keys.ExactlyOne(atMost, atLeast);
        keys.Check((entries, reading) =>
        {
            if (!entries.TryGet(measure, out var info)) { return; }
            if (info.TakesStatistic && !entries.Has(statistic))
            {
                reading.Faults.Add(entries.Node, $"{info.Word} without a statistic in {entries.Node.Path}", "statistic: one of p50, p90, p95, p99, max, mean");
            }
            if (!info.TakesStatistic && entries.Has(statistic))
            {
                reading.Faults.Add(entries.NodeOf(statistic), $"a statistic of {info.Word} in {entries.Node.Path}", $"statistic only with {StatisticWords}", "remove it");
            }
            if (entries.Has(confidence) && !TakesConfidence(info, entries.MaybeValue(statistic), entries.Has(atMost)))
            {
                reading.Faults.Add(entries.NodeOf(confidence), $"a confidence of {info.Word} in {entries.Node.Path}",
                    $"a confidence only with recognised, with p50, p90, p95, p99 of {StatisticWords}, and with at_most of "
                        + "false_alarms_per_hour: these are figures of independent trials",
                    "remove it, or limit one of these");
            }
            if (info.Class == ClassUse.None && entries.Has(name))
            {
                reading.Faults.Add(entries.NodeOf(name), $"a class for {info.Word} in {entries.Node.Path}", "no class: this measure is of all classes together", "remove it");
            }
        });
        return (entries, reading) =>
        {
            MeasureInfo info = entries.Get(measure);
            return new Limit(info.Measure)
            {
                Class = entries.Maybe(name),
                Statistic = entries.MaybeValue(statistic),
                AtMost = BoundOf(entries.Maybe(atMost), info, reading),
                AtLeast = BoundOf(entries.Maybe(atLeast), info, reading),
                Confidence = entries.MaybeValue(confidence),
                Output = entries.Maybe(output),
            };
        };
    });

    public static Shape<IReadOnlyList<Limit>> List { get; } = new ListShape<Limit>("a list of limits", Shape, 0, 1_000);

    /// <summary>Limits of a suite: judged over the trials of all its runs, so each carries a confidence.</summary>
    public static Shape<IReadOnlyList<Limit>> Pooled { get; } = List.Select((limits, node, reading) =>
    {
        if (limits.FirstOrDefault(l => l.Confidence is null) is { } bare)
        {
            reading.Faults.Add(node, $"a limit on {Measures.Of(bare.Measure).Word} without a confidence in {node.Path}", "a confidence with each limit that is judged over all trials, such as confidence: 0.9",
                "add it; limits that are judged run by run stand in the scenarios");
        }
        return limits;
    });

    private static bool TakesConfidence(MeasureInfo info, Statistic? statistic, bool atMost) =>
        info.Measure == Measure.Recognised || (info.Measure == Measure.FalseAlarmsPerHour && atMost)
            || (info.TakesStatistic && statistic is Statistic.P50 or Statistic.P90 or Statistic.P95 or Statistic.P99);

    private static string StatisticWords => string.Join(", ", Measures.All.Where(m => m.TakesStatistic).Select(m => m.Word));

    private static string MeasuresDoc => string.Join("; ", Measures.All.GroupBy(m => m.Bound).Select(g =>
        $"{g.Key switch { BoundKind.Share => "shares", BoundKind.Duration => "times", BoundKind.Count => "counts", BoundKind.Skew => "clock rates", _ => "rates" }}: {string.Join(" ", g.Select(m => m.Word))}")) + ".";

    private static readonly Shape<double> Duration = Shapes.DurationNs("0 s", "1000 h").Select(ns => ns / 1e9);
    private static readonly Shape<double> Count = new IntegerShape(0, int.MaxValue).Select(v => (double)v);
    private static readonly Shape<double> Rate = Shapes.Number(-1e9, 1e9);
    private static readonly Shape<double> Skew = Shapes.Quantity(UnitKind.Skew, "0 ppm", "1000000 ppm");

    private static double? BoundOf(ScalarNode? node, MeasureInfo info, Reading reading)
    {
        if (node is null) { return null; }
        Shape<double> shape = info.Bound switch
        {
            BoundKind.Share => Shapes.Share,
            BoundKind.Duration => Duration,
            BoundKind.Count => Count,
            BoundKind.Skew => Skew,
            _ => Rate,
        };
        return shape.TryRead(node, reading, out double bound) ? bound : null;
    }

    /// <summary>A bound before its measure is known.</summary>
    private sealed class BoundShape : Shape<ScalarNode>
    {
        public override string Form => "a bound, such as 0.95, 2, 1.5 s or 500 ppm";

        public override JsonObject Schema(SchemaParts parts) => new()
        {
            ["type"] = new JsonArray("number", "string"),
            ["anyOf"] = new JsonArray(
                new JsonObject { ["pattern"] = Documents.Quantity.Pattern(UnitKind.Duration) },
                // Covers clock rates too: a share may be written in % and ppm.
                new JsonObject { ["pattern"] = Documents.Quantity.Pattern(UnitKind.Share) }),
        };

        public override bool TryRead(Node node, Reading reading, [MaybeNullWhen(false)] out ScalarNode value)
        {
            value = node as ScalarNode;
            return value is { Kind: not ScalarKind.Null } || Refuse(node, reading, out value);
        }
    }
}
