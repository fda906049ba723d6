using System.Diagnostics;
using System.Globalization;
using HilRunner.Core.Models;
using HilRunner.Emulated.Tests.Bench;
using HilRunner.Testing;

namespace HilRunner.Emulated.Tests.Models;

/// <summary>The classifier in C on the emulated microcontroller and the host model say the same, sample by sample.</summary>
public sealed class FirmwareAgreementTests
{
    private const int AtOnce = 2;

    [Test]
    public void On_every_open_recording()
    {
        string[] files = [.. Directory.GetFiles(Path.GetDirectoryName(TestPaths.OpenData("activity/acc_exp01_user01.txt"))!, "acc_*.txt").Order(StringComparer.Ordinal)];
        Assert.That(files, Has.Length.EqualTo(6));
        MotionModel model = MotionModel.Read(Path.Combine(TestPaths.Root, "scenarios", "open-data", "model.yaml"));
        string image = Images.Get(new() { Model = "activity", Protocol = "cobs" });
        Each(files, file => Compare(image, model, Read(file), Path.GetFileName(file), leastDecisions: 20));
    }

    [Test]
    public void On_ten_thousand_random_windows()
    {
        MotionModel model = TestModels.Parse(TestModels.DenseParcel);
        Assert.That((model.Hop, model.Confirm.Max()), Is.EqualTo((4, 1)), "the model's text was changed as meant");
        string image = Images.Get(new() { Model = Images.Table("dense", TestModels.DenseParcel), Protocol = "cobs" });
        const int Pieces = 6, Samples = 12_000;
        int seed = Environment.TickCount;
        int windows = 0;
        Each(Enumerable.Range(0, Pieces), piece =>
        {
            int[][] counts = Motion.Random(3, Samples, seed + piece);
            Interlocked.Add(ref windows, Windows(model, counts));
            Compare(image, model, counts, $"seed {seed + piece}", leastDecisions: 40);
        });
        TestContext.Out.WriteLine($"{windows} windows");
        Assert.That(windows, Is.GreaterThanOrEqualTo(10_000));
    }

    [Test]
    public void On_the_parcel_tags_own_motion_and_events()
    {
        MotionModel model = TestModels.Parse(TestModels.ParcelText);
        string image = Images.Get(new() { Protocol = "cobs" });
        int seed = Environment.TickCount;
        (string Name, int[][] Counts)[] motions =
        [
            ("drops", Motion.Drops), ("noisy morning", Motion.Scenario("noisy-morning.yaml")), ("made belts", Motion.Scenario("made-belts.yaml")), ($"seed {seed}", Motion.Random(3, 8_000, seed)),
        ];
        Each(motions, m => Compare(image, model, m.Counts, m.Name, leastDecisions: 4));
        Assert.That(Motion.Expected(model, Motion.Drops).Count(d => d.Class == "dropped"), Is.EqualTo(3), "events are among them");
    }

    [Test]
    public void On_six_channels_and_every_statistic()
    {
        const int TreeSeed = 20;
        string text = TestModels.Everything(TreeSeed);
        MotionModel model = TestModels.Parse(text);
        string image = Images.Get(new() { Model = Images.Table("everything", text), Protocol = "cobs" });
        int seed = Environment.TickCount;
        Each(Enumerable.Range(0, 2), piece =>
        {
            int[][] counts = Motion.Random(6, 6_000, seed + piece);
            var expected = Motion.Expected(model, counts);
            int reached = expected.Select(d => (d.Class, d.Thousandths)).Distinct().Count();
            TestContext.Out.WriteLine($"{reached} leaves and events reached");
            Assert.That(reached, Is.GreaterThan(25));
            Compare(image, model, counts, $"seed {seed + piece}", leastDecisions: 300);
        });
    }

    [TestCase(Defects.Threshold, false)]
    [TestCase(Defects.Window, false)]
    [TestCase(Defects.Count, false)]
    [TestCase(Defects.Clock, true)]
    public void A_defect_of_the_classifier_shows_and_another_does_not(string defect, bool agrees)
    {
        int[][] motion = Motion.Scenario("made-belts.yaml");
        using var feed = new ModelFeed(Images.Get(new() { Protocol = "cobs", Defect = defect }), TestModels.Parse(TestModels.ParcelText));
        Assert.That(feed.Run(motion).SequenceEqual(Motion.Expected(TestModels.Parse(TestModels.ParcelText), motion)), Is.EqualTo(agrees));
    }

    [TestCase("scenarios/parcel/model.yaml", "rigs/emulated/firmware/tables/parcel.h")]
    [TestCase("scenarios/open-data/model.yaml", "rigs/emulated/firmware/tables/activity.h")]
    public void Its_tables_are_what_their_program_makes_of_the_models(string model, string table)
    {
        Tool.Run(300, "dotnet", "run", "rigs/emulated/MakeTable.cs", "--", "--check", model, table);
        string stale = Path.Combine(Images.Folder, "stale.h");
        string text = File.ReadAllText(Path.Combine(TestPaths.Root, table));
        int digit = text.LastIndexOfAny([.. "123456789"]);
        File.WriteAllText(stale, text[..digit] + "0" + text[(digit + 1)..]);
        Assert.That(
            Tool.Try(300, "dotnet", "run", "rigs/emulated/MakeTable.cs", "--", "--check", model, stale).Code, Is.EqualTo(1));
    }

    private static void Compare(string image, MotionModel model, int[][] counts, string name, int leastDecisions)
    {
        var watch = Stopwatch.StartNew();
        using var feed = new ModelFeed(image, model);
        var reported = feed.Run(counts);
        var expected = Motion.Expected(model, counts);
        TestContext.Out.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{name}: {counts[0].Length} samples, {expected.Count} decisions, {counts[0].Length / watch.Elapsed.TotalSeconds:0} samples/s"));
        int same = reported.Zip(expected).TakeWhile(p => p.First == p.Second).Count();
        Assert.That(same == expected.Count && same == reported.Count, Is.True, () =>
            $"{name}: {reported.Count} for {expected.Count} decisions; the first other one is {(same < reported.Count ? reported[same] : null)} for {(same < expected.Count ? expected[same] : null)}");
        Assert.That(expected, Has.Count.GreaterThanOrEqualTo(leastDecisions), name);
    }

    private static int Windows(MotionModel model, int[][] counts)
    {
        var events = Motion.Expected(model, counts).Where(d => model.Events.Any(e => model.Classes[e.Class] == d.Class)).Select(d => d.N).ToList();
        long from = 0;
        int windows = 0;
        foreach (long to in events.Append(counts[0].Length))
        {
            if (to - from >= model.Window) { windows += (int)((to - from - model.Window) / model.Hop) + 1; }
            from = to + 1;
        }
        return windows;
    }

    private static int[][] Read(string file)
    {
        double[][] rows = [.. File.ReadLines(file).Select(l => l.Split(' ', StringSplitOptions.RemoveEmptyEntries).Select(f => double.Parse(f, CultureInfo.InvariantCulture)).ToArray())];
        return [.. Enumerable.Range(0, 3).Select(c => rows.Select(r => (int)Math.Round(r[c] * 1000)).ToArray())];
    }

    private static void Each<T>(IEnumerable<T> items, Action<T> action) =>
        Parallel.ForEach(items, new ParallelOptions { MaxDegreeOfParallelism = AtOnce }, action);
}
