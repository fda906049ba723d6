using System.Text.RegularExpressions;
using HilRunner.Core.Numerics;
using HilRunner.Core;
using HilRunner.Core.Recordings;
using HilRunner.Inspection.Reading;
using HilRunner.Inspection.Results;
using HilRunner.Testing;

namespace HilRunner.Inspection.Tests;

/// <summary>A set of bad recordings, one for every kind of defect, made of a good one: each is caught, and for what it is.</summary>
public partial class KnownBadTests
{
    private static readonly int[] s_acceleration = [0, 1, 2], s_all = [0, 1, 2, 3, 4, 5];

    /// <param name="Kinds">What must be found, and nothing beside it. The first is the defect; others follow from it by themselves.</param>
    internal sealed record Bad(string Name, string[] Kinds, Fitness Fitness, Func<GoodRecording, GoodRecording> Make, InspectionOptions? Options = null)
    {
        public override string ToString() => Name;
    }

    private static readonly InspectionOptions s_reference = new() { Reference = GoodRecording.Build(2).Read() };

    private static IEnumerable<Bad> All()
    {
        yield return new("half a second lost", ["gap"], Fitness.Unfit, g => Cut(g, 500, 25));
        yield return new("a row written twice", ["doubled_row"], Fitness.Unfit, g => Twice(g, 500));
        yield return new("a time written twice", ["doubled_time", "gap"], Fitness.Unfit, g => Do(g, () => g.Times[500] = g.Times[499]));
        yield return new("the clock set back by an hour", ["backward_time"], Fitness.Unfit, g => Shift(g, 2000, -3600));
        yield return new("a sample too early", ["early_sample", "gap"], Fitness.Unfit, g => Do(g, () => g.Times[500] = g.Times[499] + 0.003m));
        yield return new("jitter of a fifth of a step", ["jitter"], Fitness.Unfit, g => Jitter(g, 0.004m));
        yield return new("jitter of a tenth of a step", ["jitter"], Fitness.WithCare, g => Jitter(g, 0.0015m));
        yield return new("a clock 150 ppm slow", ["clock_drift"], Fitness.WithCare, g => Stretch(g, 1.00015m));
        yield return new("a clock 1 % slow", ["clock_drift"], Fitness.Unfit, g => Stretch(g, 1.01m));
        yield return new("no number in a cell", ["missing_value"], Fitness.Unfit, g => g.Change(10, 10.02, [1], (_, _) => double.NaN));
        yield return new("a row cut short", ["ragged_row"], Fitness.Unfit, g => Line(g, 500, "10,0.02"));
        yield return new("a blank line", ["blank_line"], Fitness.Unfit, g => Line(g, 500, "\n" + "10,0.02,-0.01,1.001,0.1,0.2,0.05"));
        yield return new("a time that is none", ["bad_time"], Fitness.Unfit, g => Line(g, 500, "noon,0.02,-0.01,1.001,0.1,0.2,0.05"));
        yield return new("clipped peaks", ["clipping"], Fitness.Unfit, g => Do(g.Change(0, 999, [2], (v, _) => Math.Min(v, 1.2)), () => g.Side = "rate: 50 Hz\nrange: 1.2 g\n"));
        yield return new("clipped peaks, range not stated", ["clipping"], Fitness.Unfit, g => Do(g.Change(0, 999, [2], (v, _) => v > 1.2 ? 2 : v), () => g.Side = "rate: 50 Hz\n"));
        yield return new("values beyond the stated range", ["beyond_range", "clipping"], Fitness.Unfit, g => Do(g, () => g.Side = "rate: 50 Hz\nrange: 1 g\n"));
        yield return new("zeros at the start", ["zero_rows"], Fitness.WithCare, g => g.Change(0, 0.34, s_all, (_, _) => 0));
        yield return new("a sensor that hung for a second", ["frozen"], Fitness.WithCare, g => Hold(g, 5, 6, s_all));
        yield return new("one axis stuck", ["stuck_axis"], Fitness.Unfit, g => Hold(g, 30, 33, [1]));
        yield return new("rounded to 30 mg", ["coarse"], Fitness.WithCare, g => g.Change(0, 999, s_acceleration, (v, _) => Math.Round(v / 0.03) * 0.03), new());
        yield return new("white noise of 30 mg", ["noisy"], Fitness.WithCare, g => Noise(g, 0.03));
        yield return new("an offset of 50 mg", ["gravity_off"], Fitness.WithCare, g => g.Change(0, 999, [2], (v, _) => v + 0.05));
        yield return new("m/s² under a header of g", ["wrong_unit", "noisy"], Fitness.Unfit, g =>
            Do(g.Change(0, 999, s_acceleration, (v, _) => v * Gravity.Standard), () => g.Side = "rate: 50 Hz\nrange: 64 g\n"));
        yield return new("g under a header of m/s²", ["wrong_unit"], Fitness.Unfit, g => Do(g, () => g.Header = g.Header.Replace("_g", "_mps2", StringComparison.Ordinal)));
        yield return new("gravity taken out", ["wrong_unit"], Fitness.Unfit, g => g.Change(0, 999, [2], (v, _) => v - 1));
        yield return new("a gyro with an offset", ["gyro_offset"], Fitness.WithCare, g => g.Change(0, 999, [4], (v, _) => v + 8));
        yield return new("x and z exchanged", ["axes_exchanged"], Fitness.Unfit, g => Do(g, () => (g.Channels[0], g.Channels[2]) = (g.Channels[2], g.Channels[0])), s_reference);
        yield return new("z with the wrong sign", ["axes_exchanged"], Fitness.Unfit, g => g.Change(0, 999, [2], (v, _) => -v), s_reference);
        yield return new("a belt above the device's Nyquist", ["aliasing"], Fitness.Unfit, g => g, new() { DeviceRate = new(20_000) });
        yield return new("slower than the device", ["slower_than_device"], Fitness.WithCare, g => g, new() { DeviceRate = new(100_000) });
        yield return new("a belt near the recording's Nyquist", ["near_nyquist"], Fitness.WithCare, _ => GoodRecording.Build(1, 23));
        yield return new("labels that overlap", ["label_overlap"], Fitness.Unfit, g => Label(g, 1, 11.5m, 24));
        yield return new("a label that ends before it starts", ["label_reversed"], Fitness.Unfit, g => Do(g, () => g.Labels.Add((50, 49, "resting"))));
        yield return new("a label before the first sample", ["label_before"], Fitness.Unfit, g => Label(g, 0, -2, 12));
        yield return new("a label outside the recording", ["label_outside"], Fitness.Unfit, g => Do(g, () => g.Labels.Add((200, 210, "resting"))));
        yield return new("a label past the end", ["label_past_end"], Fitness.WithCare, g => Label(g, 8, 96, 115));
        yield return new("a line without a label", ["bad_label_line"], Fitness.Unfit, g => Do(g, () => g.LabelLines.Add("108,noon,resting")));
        yield return new("one class rare", ["unbalanced"], Fitness.WithCare, g => Rare(g));
        yield return new("mostly without labels", ["unlabelled"], Fitness.WithCare, g => Do(g, () => g.Labels.RemoveRange(4, 5)));
        yield return new("a segment shorter than a window", ["short_segment"], Fitness.WithCare, g => Label(g, 4, 59.2m, 60));
        yield return new("carried called resting", ["label_unlike"], Fitness.WithCare, g => Do(g, () => g.Labels[4] = g.Labels[4] with { Class = "resting" }));
    }

    [Test]
    public void The_good_one_is_clean()
    {
        var inspection = Inspector.Inspect(GoodRecording.Build().Read(), s_reference with { DeviceRate = new(50_000) });
        Assert.That(inspection.Findings.Select(f => $"{f.Kind}: {f.What}"), Is.Empty);
        Assert.That(inspection.Checks.Where(c => c.Fitness is null).Select(c => c.Check), Is.EqualTo(new[] { "offset and scale by axis", "velocity severity" }), "everything else is judged");
    }

    [TestCaseSource(nameof(All))]
    public void Each_is_caught_for_what_it_is(object made)
    {
        var bad = (Bad)made;
        var inspection = Inspector.Inspect(bad.Make(GoodRecording.Build()).Read(), bad.Options);
        Assert.That(inspection.Findings.Select(f => f.Kind), Is.EquivalentTo(bad.Kinds), string.Join("\n", inspection.Findings.Select(f => $"{f.Kind}: {f.What}")));
        Assert.That(inspection.Verdict, Is.EqualTo(bad.Fitness));
    }

    /// <summary>Parquet is looked at as text is, gaps and missing values included.</summary>
    [TestCaseSource(nameof(All))]
    public void Each_is_caught_in_parquet_too(object made)
    {
        var bad = (Bad)made;
        using var folder = TestPaths.NewFolder();
        if (bad.Make(GoodRecording.Build()).WriteParquet(folder) is not { } path)
        {
            Assert.That(bad.Name, Does.Match("cut short|blank line|a time that is none"), "only text can hold it");
            return;
        }
        var inspection = Inspector.Inspect(InspectedFile.Read(path), bad.Options);
        Assert.That(inspection.Findings.Select(f => f.Kind), Is.EquivalentTo(bad.Kinds), string.Join("\n", inspection.Findings.Select(f => $"{f.Kind}: {f.What}")));
        Assert.That(inspection.Verdict, Is.EqualTo(bad.Fitness));
    }

    /// <summary>What the reader of recordings refuses is unfit: the two never disagree in that direction.</summary>
    [TestCaseSource(nameof(All))]
    public void What_the_strict_reader_refuses_is_unfit(object made)
    {
        var bad = (Bad)made;
        using var folder = TestPaths.NewFolder();
        string path = bad.Make(GoodRecording.Build()).Write(folder);
        bool refused = false;
        try { RecordingFile.Read(path); }
        catch (BadInputException) { refused = true; }
        if (refused) { Assert.That(Inspector.Inspect(InspectedFile.Read(path), bad.Options).Verdict, Is.EqualTo(Fitness.Unfit)); }
    }

    /// <summary>Kinds are read from the sources: a new one without a bad recording fails here.</summary>
    [Test]
    public void Every_kind_of_finding_has_a_bad_recording_or_a_test_of_its_own()
    {
        string[] elsewhere = ["axis_offset", "axis_scale"];
        var kinds = Directory.EnumerateFiles(Path.Combine(TestPaths.Root, "src", "HilRunner.Inspection"), "*Check.cs", SearchOption.AllDirectories)
            .SelectMany(f => Kind().Matches(File.ReadAllText(f))).Select(m => m.Groups["kind"].Value).Distinct().ToList();
        Assert.That(kinds, Has.Count.GreaterThan(30));
        Assert.That(kinds.Except(All().SelectMany(b => b.Kinds)).Except(elsewhere), Is.Empty);
    }

    [Test]
    public void A_place_is_where_the_defect_is()
    {
        var gap = Inspector.Inspect(Cut(GoodRecording.Build(), 500, 25).Read()).Findings.Single();
        Assert.That(gap.Places, Is.EqualTo(1));
        Assert.That(gap.Where[0].FromNs / 1e9, Is.EqualTo(9.98).Within(0.001));
        Assert.That(gap.Where[0].ToNs / 1e9, Is.EqualTo(10.5).Within(0.001));
        var clipped = Inspector.Inspect(GoodRecording.Build().Change(20, 20.1, [0], (_, _) => 8).Read()).Findings.Single();
        Assert.That((clipped.Kind, clipped.Places), Is.EqualTo(("clipping", 1L)));
        Assert.That((clipped.Where[0].ToNs - clipped.Where[0].FromNs) / 1e9, Is.EqualTo(0.1).Within(0.001));
    }

    private static GoodRecording Do(GoodRecording g, Action change)
    {
        change();
        return g;
    }

    private static GoodRecording Cut(GoodRecording g, int from, int count) => Do(g, () =>
    {
        g.Times.RemoveRange(from, count);
        g.Channels = [.. g.Channels.Select(c => c.Where((_, n) => n < from || n >= from + count).ToArray())];
    });

    private static GoodRecording Twice(GoodRecording g, int at) => Do(g, () =>
    {
        g.Times.Insert(at, g.Times[at]);
        g.Channels = [.. g.Channels.Select(c => (double[])[.. c[..at], c[at], .. c[at..]])];
    });

    private static GoodRecording Shift(GoodRecording g, int from, decimal seconds) => Do(g, () =>
    {
        for (int n = from; n < g.Times.Count; n++) { g.Times[n] += seconds; }
    });

    private static GoodRecording Stretch(GoodRecording g, decimal factor) => Do(g, () =>
    {
        for (int n = 0; n < g.Times.Count; n++) { g.Times[n] *= factor; }
    });

    private static GoodRecording Jitter(GoodRecording g, decimal seconds) => Do(g, () =>
    {
        var random = new Random(7);
        for (int n = 1; n < g.Times.Count; n++) { g.Times[n] += seconds * (decimal)(2 * random.NextDouble() - 1); }
    });

    private static GoodRecording Noise(GoodRecording g, double deviation)
    {
        var random = new Random(8);
        double Gauss() => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
        return g.Change(0, 999, s_acceleration, (v, _) => v + deviation * Gauss());
    }

    private static GoodRecording Hold(GoodRecording g, double from, double to, int[] channels)
    {
        double[] held = [.. g.Channels.Select(c => c[g.IndexOf(from)])];
        foreach (int c in channels) { g.Change(from, to, [c], (_, _) => held[c]); }
        return g;
    }

    private static GoodRecording Line(GoodRecording g, int n, string line) => Do(g, () => g.Lines[n] = line);

    private static GoodRecording Label(GoodRecording g, int at, decimal start, decimal end) => Do(g, () => g.Labels[at] = (start, end, g.Labels[at].Class));

    private static GoodRecording Rare(GoodRecording g) => Do(g, () =>
    {
        g.Labels.RemoveAll(l => l.Class == "conveyed");
        g.Labels.Add((24, 27, "conveyed"));
    });

    [GeneratedRegex("""Find\((?:report, )?"(?<kind>\w+)"|Judge\(report, [^\n]*"(?<kind>\w+)"\);""")]
    private static partial Regex Kind();
}
