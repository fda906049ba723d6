using System.Text;
using System.Text.Json;
using CsCheck;
using HilRunner.Core;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Testing;
using static HilRunner.Scoring.Tests.Inputs;

namespace HilRunner.Scoring.Tests.Json;

[TestFixture]
internal sealed class ScoreJsonTests
{
    private static readonly Limit[] Limits =
    [
        new(Measure.Recognised) { Class = "a", AtLeast = 0.5 }, new(Measure.Recognised) { Class = "a", AtLeast = 0.5, Confidence = 0.9 },
        new(Measure.Reaction) { Statistic = Statistic.P95, AtMost = 3e-9 }, new(Measure.Settling) { Class = "b", Statistic = Statistic.Mean, AtLeast = 1e-9 },
        new(Measure.Accuracy) { AtLeast = 0.3, Output = "" }, new(Measure.ShortestDwell) { AtLeast = 2e-9 },
    ];

    private static readonly RunTiming Timing = new()
    {
        Exchanges = 41, Unanswered = 2, Epochs = 3, LeastDelayNs = 820_001, UnevenNs = 17, ByteNs = 86_806, LinkNs = 410_000,
        LinkFrom = "half of the fastest of 4 answers to the identity question", StampNs = 190_000, CreditWaits = 12, CreditWaitNs = 3_400_000_000,
    };

    private static readonly Delivery Lost = new()
    {
        ToDevice = DeliveryWay.Of(
        [
            new("credit", DeliveryFinding.Agrees, "credit for 2800 of 2800 samples") { Expected = 2800, Seen = 2800 },
            new("counters", DeliveryFinding.Disproves,
                "the device counted 2737 of 2800 samples \"≥\" <b>") { Expected = 2800, Seen = 2737 },
        ]),
        FromDevice = DeliveryWay.Of([new("questions", DeliveryFinding.Agrees, "64 of 64 questions were answered")]),
        CountOnly = true,
        AliveUntil = new(12_345_678_901),
        Advice = "add says.counters to the rig file",
    };

    [Test]
    public void WhatIsWrittenIsReadAgain() => RandomInput.Any.Sample(input =>
    {
        var score = Scorer.Score(input with { Rules = input.Rules with { Limits = Limits } });
        string text = ScoreJson.ToText(score);
        var again = Read(text);
        Assert.That(ScoreJson.ToText(again), Is.EqualTo(text));
        Assert.That(again.Limits, Is.EqualTo(score.Limits), "infinities and all");
        Assert.That(again.Outputs[0].Trials, Is.EqualTo(score.Outputs[0].Trials));
        Assert.That(again.Outputs[0].Reaction, Is.EqualTo(score.Outputs[0].Reaction));
        Assert.That(again.Outputs[0].Settling, Is.EqualTo(score.Outputs[0].Settling));
        Assert.That(again.Outputs[0].Report, Is.EqualTo(score.Outputs[0].Report));
        Assert.That(again.Outputs[0].Segments, Is.EqualTo(score.Outputs[0].Segments));
        Assert.That(again.Outputs[0].Changes, Is.EqualTo(score.Outputs[0].Changes));
    }, iter: 500);

    [Test]
    public void HealthDeviceAndSeveralOutputsAreReadAgain()
    {
        var score = Scorer.Score(WorkedExample with
        {
            Decisions = [.. WorkedExample.Decisions.Select(d => d with { Output = "activity" }), Says(1, "resting \"≥\" <b>", "mode")],
            Outputs = ["mode", "activity"],
            Rules = new() { Limits = [new(Measure.Accuracy) { AtLeast = 0.5 }, new(Measure.Accuracy) { AtLeast = 0.5, Output = "mode" }] },
            Health = new()
            {
                Sent = 3_000, Lost = 2, Late = 3, LateP50Ns = 60_001, LateP99Ns = 190_002, LateP999Ns = 3_400_003, LateMaxNs = 12_345_678, FramesBad = 4, LinesUnknown = 5, Reconnects = 6,
                ClockUncertaintyNs = 1_000_001, Faults = ["2 samples were lost"], Incomplete = true,
            },
            Device = new(1, 2, -17.25) { ClockPpmUncertainty = 0.125 },
            Timing = Timing,
            Delivery = Lost,
            Notes = ["3 messages were not understood"],
        });
        string text = ScoreJson.ToText(score);
        var again = Read(text);
        Assert.That(ScoreJson.ToText(again), Is.EqualTo(text));
        Assert.That(again.Delivery!.ToDevice.Evidence, Is.EqualTo(Lost.ToDevice.Evidence));
        Assert.That(again.Delivery.FromDevice.Evidence, Is.EqualTo(Lost.FromDevice.Evidence));
        Assert.That((again.Delivery.Outcome, again.Delivery.CountOnly, again.Delivery.AliveUntil, again.Delivery.Advice),
            Is.EqualTo((DeliveryOutcome.NotDelivered, true, Lost.AliveUntil, Lost.Advice)));
        Assert.That(
            again.Notes, Is.EqualTo(score.Notes).And.Count.EqualTo(2), "the last sign of life, and what the run has to say");
        Assert.That((again.Schema, again.ReportTimesKnown), Is.EqualTo((2, score.ReportTimesKnown)));
        Assert.That(again.Health.Faults, Is.EqualTo(score.Health.Faults));
        Assert.That(again.Health with { Faults = [] }, Is.EqualTo(score.Health with { Faults = [] }));
        Assert.That(again.Device, Is.EqualTo(score.Device));
        Assert.That(again.Timing, Is.EqualTo(Timing));
        Assert.That(again.Limits, Is.EqualTo(score.Limits));
        Assert.That(again.Outputs.Select(o => o.Output), Is.EqualTo(new[] { "activity", "mode" }), "keys are in order");
        var root = JsonDocument.Parse(text).RootElement;
        Assert.That(root.EnumerateObject().Select(p => p.Name),
            Is.EqualTo(new[] { "schema", "verdict", "reasons", "notes",
                "outputs", "limits", "health", "device", "timing", "report_times_known", "delivery" }));
        Assert.That(root.GetProperty("delivery").GetProperty("alive_until_s").GetRawText(), Is.EqualTo("12.345678901"));
        Assert.That(root.GetProperty("health").GetProperty("late_max_s").GetRawText(), Is.EqualTo("0.012345678"));
    }

    /// <summary>The keys and their order as the product's contract lists them; limits and health carry some more.</summary>
    [Test]
    public void TheKeysAreTheContracts()
    {
        string text = ScoreJson.ToText(Scorer.Score(WorkedExample with
        {
            Rules = new() { Events = ["dropped"], WithinNs = Ns(4), Limits = [new(Measure.Accuracy) { AtLeast = 0.5 }] },
            Timing = Timing,
            Delivery = Lost,
        }));
        var root = JsonDocument.Parse(text).RootElement;
        string Keys(params string[] path)
        {
            var at = path.Aggregate(root, (e, p) => e.GetProperty(p));
            return string.Join(" ", (at.ValueKind == JsonValueKind.Array ? at[0] : at).EnumerateObject().Select(p => p.Name));
        }
        Assert.That(
            Keys(), Is.EqualTo(
                "schema verdict reasons notes strict graced trials latency events changes segments limits health device timing report_times_known delivery"));
        Assert.That(Keys("delivery"), Is.EqualTo("outcome to_device from_device count_only alive_until_s advice"));
        Assert.That(Keys("delivery", "to_device"), Is.EqualTo("outcome evidence"));
        Assert.That(Keys("delivery", "to_device", "evidence"), Is.EqualTo("source finding text expected seen"));
        Assert.That(root.GetProperty("delivery").GetProperty("to_device")
            .GetProperty("evidence")[0].GetProperty("finding").GetString(), Is.EqualTo("disproves"), "the deciding one first");
        Assert.That(Keys("strict"), Is.EqualTo("scored_s confusion_s accuracy balanced_accuracy kappa mcc per_class"));
        Assert.That(Keys("graced"), Is.EqualTo(Keys("strict")));
        Assert.That(Keys("strict", "per_class", "resting"), Is.EqualTo("recall precision f1"));
        Assert.That(Keys("trials"), Is.EqualTo(
            "class start_s end_s already missed recognised counted reaction_s settling_s uncertainty_s dropouts chatter report_latency_s report_uncertainty_s"));
        Assert.That(Keys("latency"), Is.EqualTo("reaction settling report"));
        Assert.That(Keys("latency", "reaction", "resting"), Is.EqualTo("n missed already p50 p90 p95 p99 max mean uncertainty_s"));
        Assert.That(Keys("events", "dropped"), Is.EqualTo("hits misses false_alarms false_alarms_per_hour false_alarm_times_s"));
        Assert.That(Keys("changes"), Is.EqualTo(
            "observed reference surplus shortest_dwell_s median_dwell_s chatter_per_minute surplus_per_minute"));
        Assert.That(Keys("segments", "carried", "reference"), Is.EqualTo("correct deletion fragmented merged fragmented_and_merged"));
        Assert.That(Keys("segments", "carried", "observed"), Is.EqualTo("correct insertion fragmenting merging fragmenting_and_merging"));
        Assert.That(Keys("segments", "carried", "time_s"), Is.EqualTo(
            "true_positive insertion merge overfill_start overfill_end deletion fragmentation underfill_start underfill_end"));
        Assert.That(Keys("limits"), Does.StartWith("limit figure bound outcome"));
        Assert.That(Keys("health"), Does.StartWith("sent lost late late_p50_s late_p99_s late_p999_s late_max_s frames_bad lines_unknown reconnects clock_uncertainty_s"));
        Assert.That(Keys("device"), Is.EqualTo("resets silences clock_ppm clock_ppm_uncertainty"));
        Assert.That(Keys("timing"), Is.EqualTo(
            "exchanges unanswered epochs least_delay_s uneven_s byte_s link_s link_from stamp_s credit_waits credit_wait_s"));
        Assert.That(text, Does.EndWith("}\n").And.Not.Contain("\r"));
        Assert.That(text, Does.Contain("\"limit\": \"accuracy ≥ 0.5\""));
        Assert.That(root.GetProperty("strict").GetProperty("confusion_s").GetProperty("resting").GetRawText().ReplaceLineEndings("").Replace(" ", ""),
            Is.EqualTo("""{"(none)":2,"carried":3,"resting":15}"""));
        Assert.That(root.GetProperty("limits")[0].GetProperty("figure").GetRawText(), Is.EqualTo("0.7166666666666667"));
    }

    [TestCase("timing")]
    [TestCase("delivery")]
    public void ALogThatNoRunStandsBehindHasNoneOfWhatARunShows(string key) =>
        Assert.That(JsonDocument.Parse(ScoreJson.ToText(Scorer.Score(WorkedExample))).RootElement.GetProperty(key).ValueKind,
            Is.EqualTo(JsonValueKind.Null));

    [Test]
    public void ADeliveryOfEveryOutcomeIsReadAgain([Values] DeliveryOutcome to, [Values] DeliveryOutcome from)
    {
        var delivery = new Delivery { ToDevice = new(to, []), FromDevice = new(from, []) };
        string text = ScoreJson.ToText(Scorer.Score(WorkedExample with { Delivery = delivery }));
        var again = Read(text).Delivery!;
        Assert.That((again.ToDevice.Outcome, again.FromDevice.Outcome, again.Outcome), Is.EqualTo((to, from, delivery.Outcome)));
        Assert.That(JsonDocument.Parse(text).RootElement.GetProperty("delivery").GetProperty("outcome").GetString(),
            Is.EqualTo(Delivery.Word(delivery.Outcome)));
    }

    /// <summary>What users have: read, known as what it is, and the same bytes when it is written.</summary>
    [Test]
    public void ScoresOfSchemaOneAreReadAndStayWhatTheyAre()
    {
        string[] files = Directory.GetFiles(
            Path.Combine(TestPaths.Root, "tests", "Shared", "Fixtures", "schema1"), "score.json", SearchOption.AllDirectories);
        Assert.That(files, Has.Length.EqualTo(8));
        foreach (string file in files)
        {
            string text = File.ReadAllText(file);
            var score = Read(text);
            Assert.That((score.Schema, score.Delivery, score.Notes.Count), Is.EqualTo((1, (Delivery?)null, 0)));
            Assert.That(
                score.Verdict, Is.EqualTo(file.Contains("034016Z", StringComparison.Ordinal) ? Verdict.Fail : Verdict.Pass));
            Assert.That(ScoreJson.ToText(score), Is.EqualTo(text), file);
        }
    }

    [Test]
    public void EqualScoresAreEqualBytes()
    {
        string first = ScoreJson.ToText(Scorer.Score(WorkedExample));
        Assert.That(ScoreJson.ToText(Scorer.Score(WorkedExample with { })), Is.EqualTo(first));
    }

    [TestCase("", 1)]
    [TestCase("{\n \"schema\": 1,\n oops", 3)]
    [TestCase("{\"schema\": 0}", 0)]
    [TestCase("{\"schema\": 2}", 0)]
    [TestCase("{\"schema\": 3}", 0)]
    [TestCase("{\"schema\": 1}", 0)]
    [TestCase("{\"schema\": \"1\"}", 0)]
    [TestCase("[]", 0)]
    public void AFileThatIsNoScoreIsAFault(string text, int line)
    {
        var fault = Assert.Throws<BadInputException>(() => Read(text)).Faults.Single();
        Assert.That((fault.File, fault.Line), Is.EqualTo(("score.json", line)));
    }

    private static Score Read(string text) => ScoreJson.Read(new MemoryStream(Encoding.UTF8.GetBytes(text)));
}
