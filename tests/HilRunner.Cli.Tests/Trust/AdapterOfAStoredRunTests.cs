using System.Text;
using System.Text.RegularExpressions;
using HilRunner.Application.Histories;
using HilRunner.Application.Runs;
using HilRunner.Application.Stored;
using HilRunner.Core;
using HilRunner.Core.Files;
using HilRunner.Core.Runs;
using HilRunner.Scoring;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests.Trust;

/// <summary>A stored run is data: the program that its run.yaml names is started only when the person says so.</summary>
[Platform("Linux")]
public class AdapterOfAStoredRunTests
{
    private static readonly string[] s_results = [RunFiles.Score, RunFiles.Decisions, RunFiles.Report, RunFiles.Messages];

    [Test]
    public void ItIsScoredByWhatTheAdapterSaidAndOnRequestByTheProgramWhichIsNamedFirst()
    {
        using var folder = TestPaths.NewFolder();
        var stored = StoredRuns.Shared;
        string run = StoredRuns.CopyRun(stored.Adapter, folder), batch = Path.GetDirectoryName(run)!;
        int started = stored.Started;
        var live = s_results.ToDictionary(f => f, f => Bytes(Path.Combine(run, f)));
        // A report names the folder that it stands in: of the copy it is another.
        static byte[] Bytes(string file) =>
            Encoding.UTF8.GetBytes(Regex.Replace(File.ReadAllText(file), "<td>[^<]*/001-two-belts-1</td>", "<td>FOLDER</td>"));
        void SameAsLive() => Assert.Multiple(() =>
        {
            foreach (string file in s_results) { Assert.That(Bytes(Path.Combine(run, file)), Is.EqualTo(live[file]), file); }
        });

        Assert.That(Hil.Run("report", batch).Code, Is.Zero);
        SameAsLive();
        Assert.That(MergedBatch.Write(Composition.Context, [batch], folder.File("merged"), AdapterLeave.None).Verdict,
            Is.EqualTo(Verdict.Pass));
        Assert.That(RecordedFolder.Read(Composition.Context, batch).Runs, Has.Count.EqualTo(1));

        // As an older run is, or one that was cut off.
        File.Delete(Path.Combine(run, RunFiles.Messages));
        foreach (string command in (string[])["score", "report"])
        {
            var refused = Hil.Run(command, batch);
            Assert.That(refused.Code, Is.EqualTo(ExitCodes.BadInput), command);
            Assert.That(refused.Errors,
                Does.Contain("--run-adapter").And.Contain("lines_adapter.py").And.Contain("the stored score stays as it is"));
        }
        Assert.That(Bytes(Path.Combine(run, RunFiles.Score)), Is.EqualTo(live[RunFiles.Score]));
        Assert.That(stored.Started, Is.EqualTo(started), "no program was started so far");

        var asked = Hil.Run("score", run, "--run-adapter");
        Assert.That(asked.Code, Is.Zero, asked.Errors);
        Assert.That(asked.Errors, Does.Contain("which is started now: [\"python3\",").And.Contain("lines_adapter.py"));
        Assert.That(stored.Started, Is.EqualTo(started + 1));
        SameAsLive();
    }

    [Test]
    public void TheRigThatACallNamesGivesLeaveForItsOwnRunsAlone()
    {
        using var folder = TestPaths.NewFolder();
        string run = StoredRuns.CopyRun(StoredRuns.Shared.Adapter, folder);
        var rig = RunManifestFile.Read(Path.Combine(run, RunFiles.Manifest)).Rig;
        byte[] messages = File.ReadAllBytes(Path.Combine(run, RunFiles.Messages));
        File.Delete(Path.Combine(run, RunFiles.Messages));
        Assert.That(() => RunConclusion.Review(Composition.Context, run,
            AdapterLeave.For([rig with { Text = rig.Text + "# another\n" }])),
            Throws.TypeOf<BadInputException>().With.Message.Contains("--run-adapter"));
        Assert.That(() => StoredDecoders.RefuseLacking(Path.GetDirectoryName(run)!, AdapterLeave.None),
            Throws.TypeOf<BadInputException>());
        Assert.That(() => StoredDecoders.RefuseLacking(Path.GetDirectoryName(run)!, AdapterLeave.For([rig])), Throws.Nothing);
        Assert.That(RunConclusion.Review(Composition.Context, run, AdapterLeave.For([rig])).Score.Verdict,
            Is.EqualTo(Verdict.Pass));
        Assert.That(File.ReadAllBytes(Path.Combine(run, RunFiles.Messages)), Is.EqualTo(messages), "what it said is kept");
    }

    [Test]
    public void MessagesOfAnotherCaptureAreNotBelieved()
    {
        using var folder = TestPaths.NewFolder();
        string run = StoredRuns.CopyRun(StoredRuns.Shared.Adapter, folder), capture = Path.Combine(run, RunFiles.Capture);
        byte[] bytes = File.ReadAllBytes(capture);
        File.WriteAllBytes(capture, bytes[..^200]);
        Assert.That(() => RunConclusion.Conclude(Composition.Context, run, AdapterLeave.None),
            Throws.TypeOf<BadInputException>().With.Message.Contains("messages of a capture with SHA-256"));
        File.Delete(capture);
        Assert.That(RunConclusion.Conclude(Composition.Context, run, AdapterLeave.None).Score.Verdict,
            Is.EqualTo(Verdict.Error), "a run without a capture needs no adapter to be told so");
    }

    [Test]
    public void ARigTextThatWasChangedAfterwardsIsToldAndTheRunCountsForNothing()
    {
        using var folder = TestPaths.NewFolder();
        string run = StoredRuns.CopyRun(StoredRuns.Shared.Plain, folder), manifest = Path.Combine(run, RunFiles.Manifest);
        Assert.That(RunConclusion.Conclude(Composition.Context, run, AdapterLeave.None).Score.Verdict, Is.EqualTo(Verdict.Pass));
        string text = File.ReadAllText(manifest), changed = text.Replace("lost: 0", "lost: 1");
        Assert.That(changed, Is.Not.EqualTo(text));
        File.WriteAllText(manifest, changed);
        var score = RunConclusion.Conclude(Composition.Context, run, AdapterLeave.None).Score;
        Assert.That(score.Verdict, Is.EqualTo(Verdict.Inconc));
        Assert.That(score.Health.Faults[0], Does.Contain("SHA-256").And.Contain("changed after the run was played"));
        // A text that its hash is of is the rig's, whoever wrote both.
        var other = RunManifestFile.Read(manifest);
        RunManifestFile.Write(manifest, other with { Rig = other.Rig with { Sha256 = FileHash.Sha256OfText(other.Rig.Text) } });
        Assert.That(RunConclusion.Conclude(Composition.Context, run, AdapterLeave.None).Score.Verdict, Is.EqualTo(Verdict.Pass));
    }
}
