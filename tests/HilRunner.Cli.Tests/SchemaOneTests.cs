using System.Text.Json;
using System.Text.RegularExpressions;
using HilRunner.Application.Accepting;
using HilRunner.Application.Comparing;
using HilRunner.Core;
using HilRunner.Core.Files;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>
/// What users have from before scores said whether everything arrived, in a folder as they have it; and what today's tool says on
/// the same rig, which shows it of nothing that the device says.
/// </summary>
[Parallelizable]
public class SchemaOneTests
{
    private TemporaryFolder _folder = null!;

    [SetUp]
    public void SetUp()
    {
        _folder = TestPaths.NewFolder();
        Copy(Path.Combine(TestPaths.Root, "tests", "Shared", "Fixtures", "schema1"), _folder.Path);
        string parcel = Path.Combine(TestPaths.Root, "scenarios", "parcel"),
            model = File.ReadAllText(Path.Combine(parcel, "model.yaml"));
        Copy(Path.Combine(parcel, "recordings"), _folder.File("recordings"));
        File.WriteAllText(_folder.File("model.yaml"), model);
        File.WriteAllText(_folder.File("model-numb.yaml"), model.Replace("below: 38 ", "below: 3800 ", StringComparison.Ordinal));
    }

    [TearDown]
    public void TearDown() => _folder.Dispose();

    [Test]
    public void BuildsAreComparedByTodaysDefinitionsOrLeftOut()
    {
        var whole = ComparedBuild.Read(Composition.Context, "1.4.0", _folder.File("runs"));
        Assert.That((whole.Runs.Count, whole.ScoredAgain, whole.Earlier.Count, whole.LeftOut), Is.EqualTo((3, 3, 0, 0)));
        Assert.That(whole.Runs.Sum(r => r.Outputs.Sum(o => o.Trials.Count(t => t.Recognised))), Is.EqualTo(6));
        string capture = Directory.GetFiles(Run("034016Z", "002"), "link.pcapng").Single();
        File.Delete(capture);
        var result = Hil.Run("compare", "1.4.0", "1.5.0", "--runs", _folder.File("runs"));
        Assert.That(result.Code, Is.EqualTo(2), "too few trials, " + result.Errors);
        Assert.That(Line(result.Output), Does.Contain("3 runs before, 1 now; 2 trials paired")
            .And.Contain("delivery not shown in 4 of 4 runs: a change may be the link's").And.Contain(
                "4 runs were scored by earlier definitions: scored again from their captures by today's")
            .And.Contain(
                "left out, of earlier definitions and not to be scored again: 002-carried-in-the-morning-1: link.pcapng is missing"));
        Assert.That(File.ReadAllText(_folder.File("runs/compare.html")),
            Does.Contain("Left out, of earlier definitions").And.Contain("scored again from their captures"));
        Assert.That(File.ReadAllText(Path.Combine(Run("034016Z", "001"), "score.json")),
            Does.Contain("\"schema\": 1,"), "nothing is written");
        var damaged = Run("034015Z", "001");
        File.WriteAllText(Path.Combine(damaged, "run.yaml"),
            File.ReadAllText(Path.Combine(damaged, "run.yaml"))
            .Replace("framing: lines", "framing: smoke", StringComparison.Ordinal));
        Assert.That(ComparedBuild.Read(Composition.Context, "1.4.0", _folder.File("runs")).Earlier,
            Has.One.StartsWith("001-a-belt-that-stops-1: ").And.Contains("smoke"));
    }

    [Test]
    public void AHistoryIsMigratedInPlaceAndItsRunsAreScoredAgain()
    {
        string history = _folder.File("runs/history.db");
        File.Copy(_folder.File("history.db"), history);
        File.Delete(Path.Combine(Run("034016Z", "002"), "link.pcapng"));
        var first = Hil.Run("history", "small suite", "--runs", _folder.File("runs"), "--json");
        Assert.That(first.Code, Is.Zero, first.Errors);
        Assert.That(Regex.Count(first.Errors, "left out"), Is.EqualTo(1));
        Assert.That(
            first.Errors,
            Does.Contain(
                "002-carried-in-the-morning-1/score.json: earlier definitions; expected a run that can be scored again from its capture; link.pcapng is missing"));
        var batches = JsonDocument.Parse(first.Output).RootElement.GetProperty("suites")[0].GetProperty("batches")
            .EnumerateArray().ToList();
        Assert.That(
            batches.Select(
                b => (b.GetProperty("build").GetString(), b.GetProperty("definitions")
                    .GetInt32(), b.GetProperty("delivery_not_shown").GetInt32())),
                    Is.EqualTo(new[] { ("1.5.0", 1, 1), ("1.4.0", 1, 2) }));
        Assert.That(
            batches.Select(b => b.GetProperty("figures").EnumerateArray()
                .First(f => f.GetProperty("class").GetString() == "").GetProperty("trials").GetInt32()),
                Is.EqualTo(new[] { 2, 4 }));

        var again = Hil.Run("history", "small suite", "--runs", _folder.File("runs"));
        Assert.That(again.Errors, Is.Empty, "it is not tried each time");
        Assert.That(
            Line(again.Output), Does.Contain("fail in 2 of 2 runs; delivery not shown in 1 of 1 runs (earlier definitions)"));
    }

    [TestCase("acceptance")]
    [TestCase("sequential")]
    public void APlanThatWasFixedThenIsNotGoneOnWith(string plan)
    {
        string[] before = Hashes("cut-off");
        var result = Hil.Run("accept", _folder.File(plan + ".yaml"), "--rig", _folder.File("rig.yaml"),
            "--build", "1.4.0", "--speed", "4x", "--out", _folder.File("cut-off"), "--resume");
        Assert.That(result.Code, Is.EqualTo(65), result.Output + result.Errors);
        Assert.That(result.Errors, Does.Contain("a plan that does not say hold"), "which no plan of that time did");
        string[] locks = Directory.GetFiles(_folder.File("cut-off"), "plan.lock", SearchOption.AllDirectories);
        Assert.That(locks, Has.Length.EqualTo(2));
        foreach (string batch in locks.Select(l => Path.GetDirectoryName(l)!))
        {
            Assert.That(() => PlanLock.RefuseEarlier(batch), Throws.TypeOf<BadInputException>().With.Message.Contains(
                "plan.lock: a plan that was fixed under earlier definitions (1); expected one of definitions 2")
                    .And.Message.Contains(
                "play the acceptance anew, without --resume"));
        }
        Assert.That(Hashes("cut-off"), Is.EqualTo(before), "nothing is touched");
    }

    [Test]
    public void AnAcceptanceOfThatTimeKeepsItsNameAndSaysWhatItIs()
    {
        string batch = Directory.GetDirectories(_folder.File("accepted")).Single();
        Assert.That(PlanLock.Read(batch).Sha256, Is.EqualTo(FileHash.Sha256(Path.Combine(batch, "plan.lock"))));
        var report = Hil.RunIn(_folder.Path, "report", batch);
        Assert.That(report.Code, Is.Zero, report.Errors);
        Assert.That(File.ReadAllText(Path.Combine(batch, "evidence.html")),
            Does.Contain(
                "The plan was fixed under earlier definitions (1); what stands here was scored again from the captures by definitions 2.").And.Contain(">open<"));
        Assert.That(File.ReadAllText(Directory.GetFiles(batch, "score.json", SearchOption.AllDirectories)[0]),
            Does.Contain("\"schema\": 2,"));
    }

    [Test]
    public void AnAcceptanceIsOpenWhereDeliveryIsNotShownUnlessItsPlanAcceptsThat()
    {
        File.AppendAllText(_folder.File("acceptance.yaml"), "hold: 0 s\n");
        var open = Accept("acceptance.yaml", "asked");
        Assert.That(open.Code, Is.EqualTo(2), open.Output + open.Errors);
        Assert.That(
            open.Output,
            Does.Match(@"open: delivery is not shown in 2 of 2 runs that count, and the plan asks for it: nothing proves that all .*or, where that is enough for this trial, put “delivery: not shown is accepted” into the plan"));
        string batch = Directory.GetDirectories(_folder.File("asked")).Single();
        Assert.That(File.ReadAllText(Path.Combine(batch, "plan.lock")), Does.Contain("\"definitions\": 2"));
        Assert.That(File.ReadAllText(Path.Combine(batch, "junit.xml")),
            Does.Contain("name=\"delivery is shown\"").And.Contain("errors=\"1\""));

        File.WriteAllText(_folder.File("accepts.yaml"),
            File.ReadAllText(_folder.File("acceptance.yaml")) + "delivery: not shown is accepted\n");
        var accepted = Accept("accepts.yaml", "accepts");
        Assert.That(accepted.Code, Is.Zero, accepted.Output + accepted.Errors);
        Assert.That(Line(accepted.Output), Does.Contain("and the one over all trials; delivery not shown in 2 of 2 runs"));
        string evidence =
            File.ReadAllText(Directory.GetFiles(_folder.File("accepts"), "evidence.html", SearchOption.AllDirectories).Single());
        Assert.That(evidence[..evidence.IndexOf("</header>", StringComparison.Ordinal)],
            Does.Contain("<b>Delivery: not shown is accepted,</b> as the plan says. In 2 of 2 runs that count nothing proves"));

        HilResult Accept(string plan, string folder) =>
            Hil.Run("accept", _folder.File(plan), "--rig", _folder.File("rig.yaml"), "--out", _folder.File(folder));
    }

    [Test]
    public void NotShownStandsBesidePassAndFailAlike()
    {
        var pass = Hil.Run("run", _folder.File("suite.yaml"), "--rig", _folder.File("rig.yaml"),
            "--out", _folder.File("pass"), "--summary", _folder.File("summary.txt"));
        Assert.That(pass.Code, Is.Zero, pass.Errors);
        Assert.That(
            Line(pass.Output),
            Does.Match(@"delivery not shown .*delivery not shown: nothing proves that all .*pass: every limit held in all 2 runs, and the one over all trials; delivery not shown in 2 of 2 runs"));
        Assert.That(Regex.Count(pass.Errors, "pass  .*; delivery not shown"), Is.EqualTo(2));
        Assert.That(pass.Output.Split('\n').Where(l => l.Contains("not shown", StringComparison.Ordinal)).Max(l => l.Length),
            Is.LessThanOrEqualTo(80));
        Assert.That(File.ReadAllText(_folder.File("summary.txt")),
            Does.StartWith("pass: small suite: 2 of 2 runs passed; delivery not shown in 2 of 2 runs\n").And.Contain(
                "- delivery not shown: nothing proves"));
        string run = Directory.GetDirectories(Directory.GetDirectories(_folder.File("pass")).Single())
            .Order(StringComparer.Ordinal).First();
        Assert.That(
            Line(Hil.Run("score", run).Output), Does.Match("pass .* all 5 limits held delivery not shown: nothing proves"));
        Assert.That(File.ReadAllText(Path.Combine(run, "report.html")),
            Does.Contain("<b>Delivery not shown:</b>").And.Contain("id=\"delivery\""));

        var fail = Hil.Run(
            "run", _folder.File("belt.yaml"), "--rig", _folder.File("rig-numb.yaml"), "--out", _folder.File("fail"), "--quiet");
        Assert.That(fail.Code, Is.EqualTo(1));
        Assert.That(Line(fail.Output), Does.Match("^fail: .*; delivery not shown "));
    }

    /// <summary>As a sentence, however the terminal broke it.</summary>
    private static string Line(string text) => Regex.Replace(text, @"\s+", " ");

    private string Run(string batch, string number) =>
        Directory.GetDirectories(Directory.GetDirectories(_folder.File("runs"))
            .Single(d => d.Contains(batch, StringComparison.Ordinal)))
            .Single(d => Path.GetFileName(d).StartsWith(number, StringComparison.Ordinal));

    private string[] Hashes(string folder) =>
        [.. Directory.GetFiles(_folder.File(folder), "*", SearchOption.AllDirectories)
            .Order(StringComparer.Ordinal).Select(f => $"{f} {FileHash.Sha256(f)}")];

    private static void Copy(string from, string to)
    {
        Directory.CreateDirectory(to);
        foreach (string folder in Directory.GetDirectories(from, "*", SearchOption.AllDirectories))
        {
            Directory.CreateDirectory(Path.Combine(to, Path.GetRelativePath(from, folder)));
        }
        foreach (string file in Directory.GetFiles(from, "*", SearchOption.AllDirectories))
        {
            File.Copy(file, Path.Combine(to, Path.GetRelativePath(from, file)));
        }
    }
}
