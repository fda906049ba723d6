using System.Text;
using System.Text.RegularExpressions;
using HilRunner.Application.Accepting;
using HilRunner.Application.Runs;
using HilRunner.Application.Stored;
using HilRunner.Core;
using HilRunner.Core.Runs;
using HilRunner.Core.Shakers;
using HilRunner.Reporting;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests.Trust;

/// <summary>Whatever is wrong in a file of a stored run is bad input, with its place, and never a fault of the tool.</summary>
[Platform("Linux")]
public class DamagedStoredRunTests
{
    [TestCase(RunFiles.Manifest, "speed: .*", "speed: fast", "run.yaml:")]
    [TestCase(RunFiles.Manifest, "speed: .*", "speed: 1e9x", "real, max or a factor")]
    [TestCase(RunFiles.Manifest, "lead_samples: .*", "lead_samples: 2000000000", "at most samples")]
    [TestCase(RunFiles.Manifest, "channels: .*", "channels: [ax, ay, no]", "no channel no")]
    [TestCase(RunFiles.Playout, "\n0,.*", "\n0,,9e99", "playout.csv:")]
    [TestCase(RunFiles.Expected, "conveyed", "carried", "not what the run was played with")]
    [TestCase("../batch.json", "\"suites\": \\[\\]", "\"suites\": [null]", "$.suites[0] is null")]
    [TestCase("../batch.json", "\"name\": \"[^\"]*\"", "\"name\": null", "batch.json:")]
    [TestCase("../batch.json", "\"suites\": \\[\\]",
        "\"suites\": [{\"suite\":\"s\",\"limits\":[{\"measure\":\"recognised\"}]}]", "not judged over all trials")]
    [TestCase("../batch.json", "\"shard\": null", "\"shard\": \"7/5\"", "shard 7/5")]
    [TestCase("../batch.json", "\"baseline\": null", "\"baseline\": \"a\\u0000b\"", "NUL")]
    public void AFieldIsWrong(string file, string pattern, string with, string says)
    {
        using var folder = TestPaths.NewFolder();
        string run = StoredRuns.CopyRun(StoredRuns.Shared.Plain, folder), path = Path.GetFullPath(Path.Combine(run, file));
        string text = File.ReadAllText(path), changed = new Regex(pattern).Replace(text, with.Replace("$", "$$"), 1);
        Assert.That(changed, Is.Not.EqualTo(text), "the case fits the file");
        File.WriteAllText(path, changed);
        Assert.That(() =>
        {
            var stored = RunConclusion.Conclude(Composition.Context, run, AdapterLeave.None);
            BatchConclusion.Conclude(Composition.Context, BatchRecord.Read(Path.GetDirectoryName(run)!),
                StoredBatch.Runs([stored]), Path.GetDirectoryName(run)!, AdapterLeave.None);
        }, Throws.TypeOf<BadInputException>().With.Message.Contains(says));
    }

    [TestCase("unix_ns=(\\d)", "x")]
    [TestCase("unix_ns=(\\d)", "9")]
    [TestCase("unix_ns=(\\d)", "-")]
    [TestCase("token=(\\d)", "x")]
    [TestCase("sent_unix_ns=(\\d)", "7")]
    public void ADigitOfACapturesEventIsWrong(string pattern, string digit)
    {
        using var folder = TestPaths.NewFolder();
        string run = StoredRuns.CopyRun(StoredRuns.Shared.Plain, folder), path = Path.Combine(run, RunFiles.Capture);
        byte[] bytes = File.ReadAllBytes(path);
        var place = Regex.Match(Encoding.Latin1.GetString(bytes), pattern).Groups[1];
        Assert.That(place.Success, "the capture has such an event");
        bytes[place.Index] = (byte)digit[0];
        File.WriteAllBytes(path, bytes);
        var fault = Assert.Throws<BadInputException>(() => RunConclusion.Conclude(Composition.Context, run, AdapterLeave.None))!;
        var told = Regex.Match(fault.Message, "link.pcapng: damaged at byte (\\d+): event");
        Assert.That(told.Success, fault.Message);
        Assert.That(
            int.Parse(told.Groups[1].Value), Is.InRange(place.Index - 200, place.Index), "the block that holds the digit");
    }

    /// <summary>Seeded changes of every file of a run: it is accepted, or refused as bad input.</summary>
    [Test]
    public void WhateverIsChangedNothingElseComesOfIt(
        [Values(RunFiles.Manifest, RunFiles.Capture, RunFiles.Playout,
            RunFiles.Expected, RunFiles.Stimulus, "../batch.json")] string file)
    {
        const int seed = 1, cases = 12;
        using var folder = TestPaths.NewFolder();
        string run = StoredRuns.CopyRun(StoredRuns.Shared.Plain, folder), path = Path.GetFullPath(Path.Combine(run, file));
        byte[] whole = File.ReadAllBytes(path);
        var random = new Random(seed);
        for (int i = 0; i < cases; i++)
        {
            byte[] changed = [.. whole];
            for (int n = random.Next(1, 4); n > 0; n--) { changed[random.Next(changed.Length)] = (byte)random.Next(' ', 127); }
            File.WriteAllBytes(path, changed);
            try
            {
                BatchRecord.Read(Path.GetDirectoryName(run)!);
                RunConclusion.Conclude(Composition.Context, run, AdapterLeave.None);
            }
            catch (BadInputException refused) { Assert.That(refused.Faults, Is.Not.Empty, $"seed {seed}, case {i}"); }
        }
    }

    [TestCase("{}", "sweep.json:")]
    [TestCase("[null]", "sweep.json:")]
    [TestCase("null", "nothing in it")]
    public void ASweepThatIsNone(string text, string says)
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File(SweepJson.File), text);
        Assert.That(
            () => SweepJson.Read(folder.File(SweepJson.File)), Throws.TypeOf<BadInputException>().With.Message.Contains(says));
        File.WriteAllText(folder.File("plan.lock"), text);
        Assert.That(() => PlanLock.Read(folder.Path), Throws.TypeOf<BadInputException>().With.Message.Contains("plan.lock"));
        File.WriteAllText(folder.File(RunFiles.TableRecord), text);
        Assert.That(() => TableRecord.Read(folder.File(RunFiles.TableRecord)),
            Throws.TypeOf<BadInputException>().With.Message.Contains("table.json"));
    }
}
