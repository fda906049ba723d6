using System.Diagnostics;
using System.Text;
using System.Text.Json;
using CsCheck;
using HilRunner.Core.Models;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Models;

public sealed class ModelRunnerTests
{
    [Test]
    public void The_root_is_the_largest_whose_square_is_not_above_the_value() =>
        Gen.ULong.Sample(value =>
        {
            UInt128 root = IntegerRoot.Floor(value);
            return root * root <= value && (root + 1) * (root + 1) > value;
        });

    [TestCase(0UL, 0U)]
    [TestCase(1UL, 1U)]
    [TestCase(3UL, 1U)]
    [TestCase(ulong.MaxValue, uint.MaxValue)]
    public void The_root_of_the_ends(ulong value, uint root) => Assert.That(IntegerRoot.Floor(value), Is.EqualTo(root));

    [Test]
    public void A_tone_has_the_deviation_the_pace_and_the_crossings_of_a_tone()
    {
        // 800 counts peak, 5 Hz at 100 Hz over 2 s: deviation 800/√2; pace 2000·sin(π·5/100); 20 crossings less the run-in.
        MotionModel model = MotionModel.Parse(MotionModelTests.Sample.Replace("window: 500 ms", "window: 2 s"), "tag.yaml");
        ModelRunner runner = new(model);
        for (int i = 0; i < 200; i++)
        {
            runner.Push(i, [0, 0, (int)Math.Round(1000 + 800 * Math.Sin(2 * Math.PI * 5 * i / 100))], out _);
        }
        Assert.Multiple(() =>
        {
            Assert.That(runner.Value(new(FeatureStatistic.Deviation, 2)), Is.EqualTo(800 / Math.Sqrt(2)).Within(1));
            Assert.That(runner.Value(new(FeatureStatistic.Pace, Feature.MainAxis)), Is.EqualTo(2000 * Math.Sin(Math.PI * 5 / 100)).Within(3));
            Assert.That(runner.Value(new(FeatureStatistic.Crossings, 2)), Is.EqualTo(19));
            Assert.That(runner.Value(new(FeatureStatistic.Range, 2)), Is.EqualTo(1600));
            Assert.That(runner.Value(new(FeatureStatistic.Mean, 3)), Is.EqualTo(1000));
        });
    }

    [Test]
    public void A_class_is_reported_after_its_confirmation_and_only_when_it_changes()
    {
        List<ModelDecision> decisions = Run(MotionModel.Parse(MotionModelTests.Sample, "tag.yaml"), [.. Still(100), .. Shaken(100), .. Still(100)]);
        // Windows of 50 samples end at 49, 59, …; resting needs two running, carried one. The shaking begins at sample 100
        // and is in the window that ends at 109; the window that ends at 249 is the first without it, 259 the second.
        Assert.That(decisions, Is.EqualTo(new ModelDecision[]
        {
            new(59, "resting", 0.98, false), new(109, "carried", 1, false), new(259, "resting", 0.98, false),
        }));
    }

    [TestCase(0.5)]
    [TestCase(1.5)]
    public void A_free_fall_and_an_impact_are_one_event(double heightM)
    {
        int fall = (int)(100 * Math.Sqrt(2 * heightM / 9.80665));
        List<ModelDecision> decisions = Run(MotionModel.Parse(MotionModelTests.Sample, "tag.yaml"),
            [.. Still(100), .. Level(fall, 20), .. Level(2, 4000), .. Level(20, 30), .. Level(2, 3000), .. Still(100)]);
        Assert.That(decisions.Where(d => d.IsEvent), Is.EqualTo(new ModelDecision[] { new(100 + fall, "dropped", 1, true) }));
    }

    [TestCase(14, 0, 4000, Description = "too short a fall")]
    [TestCase(20, 12, 4000, Description = "too late an impact")]
    [TestCase(20, 0, 1900, Description = "too weak an impact")]
    public void What_is_no_drop_is_no_event(int fall, int gap, int impact)
    {
        List<ModelDecision> decisions = Run(MotionModel.Parse(MotionModelTests.Sample, "tag.yaml"),
            [.. Still(100), .. Level(fall, 20), .. Level(gap, 1000), .. Level(2, impact), .. Still(100)]);
        Assert.That(decisions.Where(d => d.IsEvent), Is.Empty);
    }

    [Test]
    public void After_a_reset_the_same_samples_give_the_same_decisions_and_nothing_is_allocated()
    {
        MotionModel model = MotionModel.Parse(MotionModelTests.Sample, "tag.yaml");
        ModelRunner runner = new(model);
        int[][] samples = [.. Still(70), .. Shaken(130), .. Level(20, 20), .. Level(1, 4000), .. Still(200)];
        Feed(runner, samples);
        runner.Reset();
        long before = GC.GetAllocatedBytesForCurrentThread();
        for (int i = 0; i < samples.Length; i++) { runner.Push(i, samples[i], out _); }
        Assert.That(GC.GetAllocatedBytesForCurrentThread() - before, Is.Zero);
        runner.Reset();
        Assert.That(Feed(runner, samples), Is.EqualTo(Run(model, samples)));
    }

    [Test]
    public void The_slow_twin_says_the_same_on_random_models_and_motion()
    {
        string[] statistics = [.. Enum.GetNames<FeatureStatistic>().Select(n => n.ToLowerInvariant())];
        string[] series = ["ax", "ay", "az", "a", "main"];
        Gen<string> leaf = Gen.Int[0, 2].Select(c => $"{{\"class\": {c}}}");
        Gen<string> Question(Gen<string> below) => Gen.Select(OneOf(statistics), OneOf(series), Gen.Int[-500, 1500], Gen.OneOf(Gen.Const(0), Gen.Int[0, 400]), below, below)
            .Select((s, v, threshold, hysteresis, then, otherwise) =>
                FormattableString.Invariant($"{{\"feature\": \"{s}({v})\", \"below\": {threshold}, \"hysteresis\": {hysteresis}, \"then\": {then}, \"else\": {otherwise}}}"));
        Gen<string> tree = Question(Question(Question(leaf)));
        Gen<int[][]> motion = Gen.Select(Gen.Int[0, 3], Gen.Int[5, 60], Gen.UInt).Select((kind, count, seed) => kind switch
        {
            0 => Still(count),
            1 => Level(count, 50),
            2 => Level(count % 4, 30_000),
            _ => Noise(count, seed),
        }).Array[3, 12].Select(parts => parts.SelectMany(p => p).ToArray());
        Gen.Select(tree, Gen.Int[2, 40], Gen.Int[1, 40], Gen.Int[1, 3].Array[3], motion).Where(t => t.Item5.Length > t.Item2).Sample(
            (nodes, window, hop, confirm, samples) => Compare(nodes, window, Math.Min(hop, window), confirm, samples), iter: 60, threads: 1);
    }

    private static void Compare(string tree, int window, int hop, int[] confirm, int[][] samples)
    {
        string classes = "resting carried dropped";
        string yamlTree = tree;
        for (int code = 0; code < 3; code++) { yamlTree = yamlTree.Replace($"\"class\": {code}", $"class: {classes.Split(' ')[code]}"); }
        string text = FormattableString.Invariant($$"""
            model: random
            classes: [resting, carried, dropped]
            input: {rate: 100 Hz, channels: {ax: 1 mg, ay: 1 mg, az: 1 mg} }
            window: {{window * 10}} ms
            hop: {{hop * 10}} ms
            tree: {{yamlTree}}
            confirm: {resting: {{confirm[0]}}, carried: {{confirm[1]}}, dropped: {{confirm[2]}} }
            events: [{class: dropped, below: 300 mg, for: 70 ms, above: 2.5 g, within: 120 ms, quiet: 500 ms}]
            """);
        MotionModel model = MotionModel.Parse(text, "random.yaml");
        ModelRunner runner = new(model);
        var ours = Feed(runner, samples).Select(d => (d.N, classes.Split(' ').AsSpan().IndexOf(d.Class), d.IsEvent));

        string job = FormattableString.Invariant($$"""
            {"window": {{window}}, "hop": {{hop}}, "tree": {{tree}}, "confirm": {{JsonSerializer.Serialize(confirm)}},
             "events": [{"class": 2, "below": 300, "for": 7, "above": 2500, "within": 12, "quiet": 50}],
             "samples": {{JsonSerializer.Serialize(samples)}}}
            """);
        using JsonDocument twin = JsonDocument.Parse(Python("model_twin.py", job));
        var theirs = twin.RootElement.GetProperty("decisions").EnumerateArray().Select(d => (d[0].GetInt64(), d[1].GetInt32(), d[2].GetBoolean()));
        Assert.That(ours, Is.EqualTo(theirs), text);

        List<string> names = Feature.SeriesNames(["ax", "ay", "az"]);
        foreach (JsonProperty feature in twin.RootElement.GetProperty("features").EnumerateObject())
        {
            Assert.That(Feature.TryParse(feature.Name, names, out Feature parsed), feature.Name);
            if (runner.Filled == window) { Assert.That(runner.Value(parsed), Is.EqualTo(feature.Value.GetInt32()), feature.Name); }
        }
    }

    private static Gen<string> OneOf(string[] words) => Gen.Int[0, words.Length - 1].Select(i => words[i]);

    private static string Python(string script, string input)
    {
        ProcessStartInfo start = new("/usr/bin/python3", [Path.Combine(TestPaths.Root, "tests", "HilRunner.Core.Tests", "Models", script)])
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
            StandardInputEncoding = new UTF8Encoding(false),
        };
        using Process python = Process.Start(start)!;
        python.StandardInput.Write(input);
        python.StandardInput.Close();
        string output = python.StandardOutput.ReadToEnd();
        python.WaitForExit();
        Assert.That(python.ExitCode, Is.Zero);
        return output;
    }

    private static List<ModelDecision> Run(MotionModel model, int[][] samples) => Feed(new ModelRunner(model), samples);

    private static List<ModelDecision> Feed(ModelRunner runner, int[][] samples)
    {
        List<ModelDecision> decisions = [];
        for (int i = 0; i < samples.Length; i++)
        {
            if (runner.Push(i, samples[i], out ModelDecision decision)) { decisions.Add(decision); }
        }
        return decisions;
    }

    private static int[][] Still(int count) => Level(count, 1000);

    private static int[][] Level(int count, int z) => [.. Enumerable.Range(0, count).Select(_ => new[] { 0, 0, z })];

    private static int[][] Shaken(int count) => [.. Enumerable.Range(0, count).Select(i => new[] { 0, 0, i % 2 == 0 ? 600 : 1400 })];

    private static int[][] Noise(int count, uint seed)
    {
        Random random = new((int)seed);
        return [.. Enumerable.Range(0, count).Select(_ => new[] { random.Next(-1500, 1500), random.Next(-300, 300), random.Next(-40_000, 40_000) / 20 })];
    }
}
