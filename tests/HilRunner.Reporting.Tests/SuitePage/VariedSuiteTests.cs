using System.Text.RegularExpressions;
using HilRunner.Core.Scenarios.Varying;
using HilRunner.Reporting.Regions;
using HilRunner.Scoring;

namespace HilRunner.Reporting.Tests.SuitePage;

/// <summary>Where the device still recognises, from runs whose outcome is known by construction.</summary>
internal sealed class VariedSuiteTests
{
    [TestCase("11110", "recognised up to 3°; no longer from 4° (0 of 1)")]
    [TestCase("01111", "recognised from 1° on; not up to 0° (0 of 1)")]
    [TestCase("00110", "recognised from 2° to 3°; not up to 1° (0 of 1), no longer from 4° (0 of 1)")]
    [TestCase("10000", "recognised only at 0°; no longer from 1° (0 of 1)")]
    [TestCase("11111", "recognised at every value, 0° to 4°")]
    [TestCase("00000", "recognised at no value, 0° to 4°; at best 0 of 1, at 0°")]
    [TestCase("11011", "recognised at 0° to 1°, 3° to 4°; not at 2° (0 of 1)")]
    [TestCase("1", "recognised at 0°, the only value")]
    [TestCase("11?10", "recognised up to 3°; no longer from 4° (0 of 1); not known at 2°")]
    public void An_edge_is_told_in_words(string outcomes, string expected)
    {
        var runs = outcomes.Select((o, i) => Run([("rotate.x", i)], o == '1') with { RigFault = o == '?' }).ToList();
        Assert.That(VariedRegion.Of(runs).Single().Lines.Single().Edge, Is.EqualTo(expected));
    }

    [Test]
    public void Two_parameters_make_a_map_and_a_missed_trial_an_endless_reaction()
    {
        var region = VariedRegion.Of(InventedSuite.Varied(3, 4).Runs).Single();
        Assert.Multiple(() =>
        {
            Assert.That(region.Map!.Rows, Has.Count.EqualTo(4));
            Assert.That(region.Map.Columns, Has.Count.EqualTo(3));
            Assert.That(region.Map.Points.Sum(row => row.Sum(p => p!.Counted)), Is.EqualTo(region.All.Counted));
            Assert.That(region.Lines.Select(l => l.Points.Sum(p => p.Usable)), Is.All.EqualTo(12));
            Assert.That(VariedRegion.Of([Run([("scale", 1)], false)]).Single().All.MedianS, Is.EqualTo(double.PositiveInfinity));
        });
    }

    [Test]
    public void Variations_of_one_recording_are_one_motion()
    {
        string text = Regex.Replace(Regex.Replace(Pages.Html(InventedSuite.Varied(5, 1)), "<[^>]+>", " "), @"\s+", " ");
        Assert.That(text, Does.Contain("conveyed 0 of 1 (0.0 %) 3 of 5 (60.0 %)"));
        Assert.That(text, Does.Contain("not independent trials"));
    }

    internal static SuiteRun Run((string Key, decimal Value)[] values, bool recognised) => new()
    {
        Scenario = "morning, " + string.Join(", ", values.Select(v => FormattableString.Invariant($"{v.Key} {v.Value}"))),
        Verdict = recognised ? Verdict.Pass : Verdict.Fail,
        Variation = new("morning", false, [.. values.Select(v => new VariedValue(VariedParameter.Of(v.Key), v.Value))]),
        Trials = [new("", "conveyed", 0, true, recognised) { ReactionNs = recognised ? 1_200_000_000 : null }],
        Played = [new("", new("one", 0, 10, null), new() { Class = "conveyed", StartNs = 0, EndNs = 10, Already = false, Missed = !recognised, Recognised = recognised, Counted = true }, null)],
    };
}
