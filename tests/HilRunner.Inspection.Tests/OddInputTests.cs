using HilRunner.Core;
using HilRunner.Core.Recordings;
using HilRunner.Inspection.Json;
using HilRunner.Inspection.Reading;
using HilRunner.Inspection.Results;
using HilRunner.Testing;

namespace HilRunner.Inspection.Tests;

/// <summary>Empty, one sample, one channel, broken: each either judged or refused with what to do.</summary>
public class OddInputTests
{
    [TestCase("", "an empty file")]
    [TestCase("t_s,ax_g,ay_g,az_g\n", "no sample")]
    [TestCase("0.1,0.2,0.3\n0.1,0.2,0.3\n", "numbers in the first line")]
    [TestCase("ax_g,ay_g,az_g\n0,0,1\n", "no sample rate")]
    [TestCase("t_s,ax_g\n0,0\n", "no sample rate")]
    [TestCase("t_s,ax_g\nnoon,0\nnoon,0\n", "no sample rate")]
    [TestCase("temperature\n20\n", "column 'temperature'")]
    public void What_nothing_can_be_said_about_is_refused(string text, string found)
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("odd.csv"), text);
        var refused = Assert.Throws<BadInputException>(() => InspectedFile.Read(folder.File("odd.csv")))!;
        Assert.That(refused.Message, Does.Contain(found).And.Contain("expected"));
    }

    [TestCase("ax_g,ay_g,az_g\n0,0,1\n")]
    [TestCase("ax_g\n0\n")]
    [TestCase("gx_dps,gy_dps,gz_dps\n0,0,1\n0,0,1\n")]
    [TestCase("t_s,ax_g,ay_g,az_g\n0,0,0,1\n0,0,0,1\n")]
    [TestCase("t_s,ax_g,ay_g,az_g\n5,,,\n4,nan,inf,1e400\n,x,y,z\n9e9,1,2,3\n")]
    [TestCase("t_s,ax_g,ay_g,az_g\n-9000000000,0,0,1\n9000000000,0,0,1\n")]
    [TestCase("ax_g,ay_g,az_g\n\n\n1000000000,-1000000000,0\n,,\n\"\",\"1\",\"2\"\n")]
    public void Whatever_else_a_file_holds_is_judged(string text)
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("odd.csv"), text);
        File.WriteAllText(folder.File("odd.yaml"), "rate: 50 Hz\n");
        File.WriteAllText(folder.File("odd.labels.csv"), "start_s,end_s,class\n0,0.01,resting\n-9000000000,9000000000,carried\n");
        var inspection = Inspector.Inspect(InspectedFile.Read(folder.File("odd.csv")));
        Assert.That(inspection.Checks.Select(c => c.Check), Is.EqualTo(Inspector.CheckNames));
        Assert.That(inspection.Checks.Where(c => c.Summary.Length == 0), Is.Empty);
        Assert.That(InspectionJson.ToText([inspection]), Does.Not.Contain("NaN").And.Not.Contain("Infinity"));
    }

    [Test]
    public void One_sample_says_nothing_about_time_or_motion_and_is_no_fault()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("one.csv"), "ax_g,ay_g,az_g\n0,0,1\n");
        File.WriteAllText(folder.File("one.yaml"), "rate: 50 Hz\n");
        var inspection = Inspector.Inspect(InspectedFile.Read(folder.File("one.csv")));
        Assert.That(inspection.Verdict, Is.EqualTo(Fitness.Fit));
        Assert.That(inspection.Checks.Count(c => c.Fitness is null), Is.GreaterThan(12));
    }

    [Test]
    public void A_recording_that_was_read_strictly_is_inspected_alike()
    {
        using var folder = TestPaths.NewFolder();
        string path = GoodRecording.Build().Write(folder);
        var strict = Inspector.Inspect(InspectedRecording.From(RecordingFile.Read(path), path));
        var lenient = Inspector.Inspect(InspectedFile.Read(path));
        string[] timed = ["order of times", "gaps", "rate and jitter", "clock against stated rate"];
        Assert.That(strict.Checks.Where(c => !timed.Contains(c.Check) && c.Figures.Count > 0).Select(c => c.Check).Count(), Is.GreaterThan(9));
        Assert.That(strict["gravity"].Figure("rest_g"), Is.EqualTo(lenient["gravity"].Figure("rest_g")));
        Assert.That(strict.Findings.Count() + lenient.Findings.Count(), Is.Zero);
    }

    [Test]
    public void A_model_gives_features_window_and_rate()
    {
        var model = Core.Models.MotionModel.Read(Path.Combine(TestPaths.Root, "scenarios", "open-data", "model.yaml"));
        var options = new InspectionOptions { Model = model, DeviceRate = model.Rate };
        var good = Inspector.Inspect(GoodRecording.Build().Read(), options);
        Assert.That(good["labels against motion"].Fitness, Is.EqualTo(Fitness.Fit));
        var relabelled = GoodRecording.Build();
        relabelled.Labels[4] = relabelled.Labels[4] with { Class = "resting" };
        Assert.That(Inspector.Inspect(relabelled.Read(), options)["labels against motion"].Fitness, Is.EqualTo(Fitness.WithCare));
        var shortened = GoodRecording.Build();
        shortened.Labels[4] = (57.5m, 60, "carried");
        Assert.That(Inspector.Inspect(shortened.Read())["shortest segments"].Fitness, Is.EqualTo(Fitness.Fit), "longer than two seconds");
        Assert.That(Inspector.Inspect(shortened.Read(), options)["shortest segments"].Fitness, Is.EqualTo(Fitness.WithCare), "shorter than the model's 2.56 s");
    }

    [Test]
    public void Momentary_and_unscored_labels_do_not_count_for_balance_and_length()
    {
        var g = GoodRecording.Build();
        g.Labels[4] = (48, 59.5m, "carried");
        g.Labels.Add((59.5m, 59.8m, "dropped"));
        g.Labels.Add((59.8m, 60, "transition"));
        Assert.That(Inspector.Inspect(g.Read()).Findings.Select(f => f.Kind), Is.EquivalentTo(new[] { "unbalanced", "short_segment" }));
        Assert.That(Inspector.Inspect(g.Read(), new() { Momentary = ["dropped"], Unscored = ["transition"] }).Findings, Is.Empty);
    }
}
