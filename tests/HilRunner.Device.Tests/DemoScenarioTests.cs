using System.Diagnostics;
using HilRunner.Core.Links;
using HilRunner.Core.Models;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals;
using HilRunner.Scoring;
using HilRunner.Testing;

namespace HilRunner.Device.Tests;

/// <summary>The scenarios that come with the project, played into their models without a device in between, and scored.</summary>
public sealed class DemoScenarioTests
{
    private static readonly string Parcel = Path.Combine(TestPaths.Root, "scenarios", "parcel");
    private static readonly string OpenRecordings = Path.Combine(TestPaths.Root, "scenarios", "open-data");

    private static IEnumerable<string> ParcelScenarios => SuiteFile.Read(Path.Combine(Parcel, "suite.yaml")).Scenarios.Select(Path.GetFileName)!;

    [TestCaseSource(nameof(ParcelScenarios))]
    public void The_parcel_model_passes(string file) =>
        Passes(Score(Path.Combine(Parcel, file), ParcelRig, Model(Parcel)));

    [TestCase("deviation(main)", "deviation(az)", "blind to two axes")]
    [TestCase("confirm: {resting: 3, carried: 3, conveyed: 3}", "confirm: {resting: 20, carried: 20, conveyed: 20}", "slow")]
    [TestCase("below: 350 mg", "below: 1 mg", "deaf to falls")]
    [TestCase("window: 1.28 s", "window: 60 ms", "nervous")]
    public void A_broken_model_fails_somewhere(string right, string broken, string what)
    {
        string text = File.ReadAllText(Path.Combine(Parcel, "model.yaml"));
        string changed = text.Replace(right, broken).Replace("hop: 250 ms", broken.StartsWith("window", StringComparison.Ordinal) ? "hop: 60 ms" : "hop: 250 ms");
        Assert.That(changed, Is.Not.EqualTo(text));
        MotionModel model = MotionModel.Parse(changed, "broken.yaml");
        Assert.That(ParcelScenarios.Select(s => Score(Path.Combine(Parcel, s), ParcelRig, model).Verdict), Has.Some.EqualTo(Verdict.Fail), what);
    }

    [TestCase("person-01.yaml", 1)]
    [TestCase("person-02.yaml", 2)]
    [TestCase("person-03.yaml", 3)]
    [TestCase("person-04.yaml", 4)]
    public void The_activity_model_passes_on_people_it_was_not_fitted_on(string file, int person)
    {
        TestPaths.OpenData("activity/labels.txt");
        Score score = Score(Path.Combine(OpenRecordings, file), "virtual-activity.yaml", Model(OpenRecordings));
        Passes(score);
        Assert.That(person, Is.Not.AnyOf(5, 6), "the people of fit_model.py");
    }

    [TestCase("walking")]
    [TestCase("lying")]
    public void An_activity_device_that_never_leaves_one_class_fails(string stuck)
    {
        TestPaths.OpenData("activity/labels.txt");
        MotionModel model = Model(OpenRecordings);
        int code = model.Classes.ToList().IndexOf(stuck);
        MotionModel broken = model with { Tree = [new TreeNode(default, 0, 0, 0, code, 1)] };
        Assert.That(Score(Path.Combine(OpenRecordings, "person-01.yaml"), "virtual-activity.yaml", broken).Verdict, Is.EqualTo(Verdict.Fail));
    }

    [Test]
    public void The_activity_model_is_what_its_script_makes_of_the_data()
    {
        string data = Path.GetDirectoryName(Path.GetDirectoryName(TestPaths.OpenData("activity/labels.txt")))!;
        Run("/usr/bin/python3", Path.Combine(OpenRecordings, "fit_model.py"), "--check", "--data", data);
    }

    [TestCase("parcel", 12)]
    [TestCase("pump", 3)]
    public void The_recordings_are_what_their_generator_makes(string demo, int files)
    {
        using TemporaryFolder folder = TestPaths.NewFolder();
        string place = Path.Combine(TestPaths.Root, "scenarios", demo);
        Run("dotnet", "run", Path.Combine(place, "Generate.cs"), "--", folder.Path);
        string[] names = [.. Directory.GetFiles(Path.Combine(place, "recordings")).Select(f => Path.GetFileName(f)).Order(StringComparer.Ordinal)];
        Assert.Multiple(() =>
        {
            Assert.That(Directory.GetFiles(folder.Path).Select(Path.GetFileName), Is.EquivalentTo(names));
            Assert.That(names, Has.Length.EqualTo(files));
            foreach (string name in names)
            {
                Assert.That(File.ReadAllBytes(folder.File(name)), Is.EqualTo(File.ReadAllBytes(Path.Combine(place, "recordings", name))), name);
            }
        });
    }

    [TestCase("virtual.yaml", VirtualDeviceProtocol.Lines)]
    [TestCase("virtual-cobs.yaml", VirtualDeviceProtocol.Cobs)]
    [TestCase("virtual-activity.yaml", VirtualDeviceProtocol.Lines)]
    [TestCase("virtual-pump.yaml", VirtualDeviceProtocol.Lines)]
    public void A_rig_describes_the_device_that_it_opens(string file, VirtualDeviceProtocol protocol)
    {
        Rig rig = RigFile.Read(RigPath(file));
        VirtualDeviceOptions options = ((BuiltinLinkSpec)rig.Device.Link).Options;
        MotionModel model = MotionModel.Read(options.Model);
        Assert.Multiple(() =>
        {
            Assert.That(options.Protocol, Is.EqualTo(protocol));
            Assert.That(rig.Device.Input.Rate, Is.EqualTo(model.Rate));
            Assert.That(rig.Device.Input.Channels.Select(c => (c.Name, c.UnitsPerCount)), Is.EqualTo(model.Channels.Select(c => (c.Name, c.UnitsPerCount))));
            if (protocol == VirtualDeviceProtocol.Cobs)
            {
                Assert.That(rig.Device.Classes.OrderBy(c => c.Key, StringComparer.Ordinal).Select(c => c.Value), Is.EqualTo(model.Classes));
            }
        });
    }

    private const string ParcelRig = "virtual.yaml";

    private static string RigPath(string file) => Path.Combine(TestPaths.Root, "rigs", file);

    private static MotionModel Model(string folder) => MotionModel.Read(Path.Combine(folder, "model.yaml"));

    private static void Passes(Score score)
    {
        foreach (TrialScore trial in score.Outputs[0].Trials)
        {
            TestContext.Out.WriteLine(FormattableString.Invariant(
                $"{trial.Class,-10} {trial.StartNs / 1e9,8:0.00} reaction {trial.ReactionNs / 1e9:0.00} settling {trial.SettlingNs / 1e9:0.00} dropouts {trial.Dropouts}"));
        }
        foreach (LimitOutcome limit in score.Limits) { TestContext.Out.WriteLine(FormattableString.Invariant($"{limit.Outcome} {limit.Text}: {limit.Figure:0.####} {limit.Why}")); }
        Assert.That(score.Verdict, Is.EqualTo(Verdict.Pass), string.Join("; ", score.Reasons));
    }

    private static Score Score(string scenarioPath, string rigFile, MotionModel model)
    {
        Scenario scenario = ScenarioFile.Read(scenarioPath);
        Rig rig = RigFile.Read(RigPath(rigFile));
        Stimulus stimulus = StimulusBuilder.Build(scenario, Path.GetDirectoryName(scenarioPath)!, rig.Device.Input, seed: 1);
        ModelRunner runner = new(model);
        List<Decision> decisions = [];
        int[] counts = new int[stimulus.Counts.Count];
        for (int i = 0; i < stimulus.SampleCount; i++)
        {
            for (int c = 0; c < counts.Length; c++) { counts[c] = stimulus.Counts[c][i]; }
            if (!runner.Push(i, counts, out ModelDecision decision)) { continue; }
            long sample = decision.N - stimulus.LeadSamples;
            decisions.Add(new(stimulus.Rate.TimeOf(sample), decision.Class) { Sample = sample, Confidence = decision.Confidence });
        }
        return Scorer.Score(new()
        {
            Reference = stimulus.Reference,
            Decisions = decisions,
            End = stimulus.End,
            Rules = scenario.Rules,
            Rate = stimulus.Rate,
        });
    }

    private static void Run(string program, params string[] arguments)
    {
        ProcessStartInfo start = new(program, arguments) { RedirectStandardOutput = true, RedirectStandardError = true, WorkingDirectory = TestPaths.Root };
        using Process process = Process.Start(start)!;
        Task<string> errors = process.StandardError.ReadToEndAsync();
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        Assert.That(process.ExitCode, Is.Zero, output + errors.Result);
        TestContext.Out.WriteLine(output);
    }
}
