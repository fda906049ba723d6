using System.Diagnostics;
using System.Text.Json;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>An acceptance from its plan to its evidence, as a user does it.</summary>
public class AcceptTests
{
    private const string Plan = "scenarios/parcel/acceptance.yaml";

    // Success run and few failures: n with BinomCDF(c; n, 1 − R) ≤ 1 − C; for 90/90 22 38 52 65 78 91 (tables of reliability).
    [Test]
    public void ThePlanSaysWhatTheClaimsTakeAndWhatThePoolGives()
    {
        using var folder = TestPaths.NewFolder();
        string plan = WritePlan(folder, "{measure: recognised, class: carried, at_least: 0.9, confidence: 0.9}", "{measure: reaction, class: carried, statistic: p95, at_most: 3 s, confidence: 0.95}");
        var result = Hil.Run("accept", plan, "--rig", "rigs/virtual.yaml", "--plan-only", "--out", folder.File("runs"), "--json");
        Assert.That(result.Code, Is.EqualTo(2), result.Output + result.Errors);
        var claims = JsonDocument.Parse(result.Output).RootElement.GetProperty("claims").EnumerateArray().ToList();
        Assert.That(claims[0].GetProperty("needed_by_failures").EnumerateArray().Select(n => n.GetInt32()), Is.EqualTo(new[] { 22, 38, 52, 65, 78, 91 }));
        Assert.That((claims[0].GetProperty("independent").GetInt32(), claims[0].GetProperty("can_be_shown").GetBoolean()), Is.EqualTo((4, false)));
        Assert.That(claims[0].GetProperty("shown_without_failure").GetDouble(), Is.EqualTo(Math.Pow(0.1, 0.25)).Within(1e-12));
        Assert.That(claims[1].GetProperty("needed_by_failures").EnumerateArray().Select(n => n.GetInt32()), Is.EqualTo(new[] { 59 }), "59 values bound a 95 % quantile at 95 % (Wilks 1941)");
        Assert.That(Directory.Exists(folder.File("runs")), Is.False, "nothing is played");

        var words = Hil.Run("accept", plan, "--rig", "rigs/virtual.yaml", "--plan-only");
        Assert.That(words.Output, Does.Contain("Record 18 more sources of carried."));
        Assert.That(words.Output.Split('\n').Where(l => l.Contains('─')).Max(l => l.Length), Is.LessThanOrEqualTo(80));
    }

    [Test]
    public void TheDemoIsAcceptedAndItsEvidenceStandsOnItsOwn()
    {
        using var folder = TestPaths.NewFolder();
        var result = Hil.Run("accept", Plan, "--rig", "rigs/virtual.yaml", "--build", "1.5.0", "--out", folder.File("runs"));
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        string batch = Directory.GetDirectories(folder.File("runs")).Single(), path = Path.Combine(batch, "evidence.html");
        Assert.That(result.Output.TrimEnd().Split('\n')[^1], Is.EqualTo(path));
        string evidence = File.ReadAllText(path);
        foreach (string part in (string[])[
            "Acceptance test report", "accepted", "Claims", "Decision rule", "Method", "Every run that was started", "Every trial of every run", "Deviations", "None: all was played as planned",
            "The results relate only to the items tested", "shall not be copied except in full", "Signature", "Made-up data", "It rests on 4 sources"])
        {
            Assert.That(evidence, Does.Contain(part));
        }
        Assert.That(evidence, Does.Not.Contain("<script src").And.Not.Contain("http://"), "nothing is fetched");
        string recording = Convert.ToHexStringLower(System.Security.Cryptography.SHA256.HashData(File.ReadAllBytes(Path.Combine(TestPaths.Root, "scenarios", "parcel", "recordings", "morning.csv"))));
        string capture = Convert.ToHexStringLower(System.Security.Cryptography.SHA256.HashData(File.ReadAllBytes(Directory.GetFiles(batch, "link.pcapng", SearchOption.AllDirectories)[0])));
        Assert.That(evidence, Does.Contain(recording).And.Contain(capture));
        File.Delete(path);
        Assert.That(Hil.Run("report", batch).Code, Is.Zero);
        Assert.That(File.ReadAllText(path), Is.EqualTo(evidence), "the same from what is stored");
    }

    [Test]
    public void ADeviceThatFailsIsNotAccepted()
    {
        using var folder = TestPaths.NewFolder();
        string model = folder.File("model.yaml"), rig = folder.File("rig.yaml");
        File.WriteAllText(model, File.ReadAllText(Path.Combine(TestPaths.Root, "scenarios", "parcel", "model.yaml")).Replace("below: 38 ", "below: 3800 ", StringComparison.Ordinal));
        File.WriteAllText(rig, File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml")).Replace("../scenarios/parcel/model.yaml", model, StringComparison.Ordinal));
        string plan = WritePlan(folder, "{measure: recognised, class: carried, at_least: 0.55, confidence: 0.9}");
        var result = Hil.Run("accept", plan, "--rig", rig, "--out", folder.File("runs"), "--json");
        Assert.That(result.Code, Is.EqualTo(1), result.Output + result.Errors);
        Assert.That(JsonDocument.Parse(result.Output).RootElement.GetProperty("outcome").GetString(), Is.EqualTo("not accepted"));
    }

    [Test]
    public void OneThatWasKilledGoesOnWithItsPlanAndItsEvidenceSaysSo()
    {
        using var folder = TestPaths.NewFolder();
        string plan = WritePlan(folder, "{measure: recognised, class: carried, at_least: 0.5, confidence: 0.9}");
        // Paced, so that it takes long enough to be killed in the middle; how late a busy machine sends is not what is tried.
        string rig = folder.File("patient.yaml");
        File.WriteAllText(
            rig, File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml"))
            .Replace("late: 50 ms", "late: 10 s", StringComparison.Ordinal)
            .Replace("../scenarios", Path.Combine(TestPaths.Root, "scenarios"), StringComparison.Ordinal));
        string[] arguments = ["accept", plan, "--rig", rig, "--speed", "50x", "--out", folder.File("runs")];
        using (var killed = Hil.Start(arguments))
        {
            Assert.That(() => Directory.Exists(folder.File("runs")) && Directory.GetFiles(folder.File("runs"), "score.json", SearchOption.AllDirectories).Length > 0, Is.True.After(60_000, 20));
            killed.Kill();
            killed.WaitForExit();
        }
        string batch = Directory.GetDirectories(folder.File("runs")).Single(), locked = File.ReadAllText(Path.Combine(batch, "plan.lock"));
        string other = folder.File("other.yaml");
        File.WriteAllText(other, File.ReadAllText(plan) + "# what it claims may be another thing\n");
        Assert.That(Hil.Run("accept", other, "--rig", rig, "--speed", "50x", "--out", folder.File("runs"), "--resume").Errors,
            Does.Contain("nothing to resume"), "another plan");
        var result = Hil.Run([.. arguments, "--resume"]);
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        Assert.That(result.Output.TrimEnd().Split('\n')[^1], Is.EqualTo(Path.Combine(batch, "evidence.html")));
        Assert.That(File.ReadAllText(Path.Combine(batch, "plan.lock")), Is.EqualTo(locked));
        Assert.That(File.ReadAllText(Path.Combine(batch, "evidence.html")), Does.Match(@"Cut off, and gone on with at \d{4}-\d\d-\d\d [\d:]+ UTC; what was finished before stands\."));
    }

    [Test]
    public void WhatIsPlayedOtherwiseThanPlannedIsADeviation()
    {
        using var folder = TestPaths.NewFolder();
        string plan = WritePlan(folder, "{measure: recognised, class: carried, at_least: 0.3, confidence: 0.9}");
        Assert.That(Hil.Run("accept", plan, "--rig", "rigs/virtual.yaml", "--out", folder.File("runs")).Code, Is.Zero);
        string batch = Directory.GetDirectories(folder.File("runs")).Single();
        string locked = Path.Combine(batch, "plan.lock");
        File.WriteAllText(locked, File.ReadAllText(locked).Replace("belt.yaml\",\n      \"sha256\": \"", "belt.yaml\",\n      \"sha256\": \"0", StringComparison.Ordinal));
        Assert.That(Hil.Run("report", batch).Code, Is.Zero);
        Assert.That(File.ReadAllText(Path.Combine(batch, "evidence.html")), Does.Contain("the scenario is not one of the plan"));
    }

    /// <summary>Killed in the middle: what was played is in the evidence, which says that it is not all.</summary>
    [Test]
    public void AKillLeavesAnEvidenceThatSaysSo()
    {
        using var folder = TestPaths.NewFolder();
        using var parent = Hil.Start("accept", Plan, "--rig", "rigs/virtual.yaml", "--out", folder.File("runs"));
        _ = parent.StandardOutput.ReadToEndAsync();
        _ = parent.StandardError.ReadToEndAsync();
        var limit = Stopwatch.StartNew();
        while (!Directory.Exists(folder.File("runs")) || Directory.GetFiles(folder.File("runs"), "score.json", SearchOption.AllDirectories).Length == 0)
        {
            Assert.That(limit.Elapsed, Is.LessThan(TimeSpan.FromSeconds(60)), "no run came to its end");
            Task.Delay(20).Wait();
        }
        parent.Kill();
        parent.WaitForExit();
        string batch = Directory.GetDirectories(folder.File("runs")).Single();
        var again = Hil.Run("report", batch);
        Assert.That(again.Code, Is.Zero, again.Errors);
        Assert.That(File.ReadAllText(Path.Combine(batch, "evidence.html")), Does.Contain("The plan was not played to its end.").And.Contain("was not played").And.Contain(">open<"));
    }

    /// <summary>Forty made trials, one a run: the plan ends as soon as Wald's lines say so, and the same from what is stored.</summary>
    [TestCase("virtual.yaml", 0, "accepted", "every claim is decided")]
    [TestCase("deaf.yaml", 1, "not accepted", "is refused")]
    public void ASequentialPlanEndsEarlyForEitherSide(string rig, int code, string outcome, string why)
    {
        using var folder = TestPaths.NewFolder();
        string plan = WriteSequential(folder, 40);
        string model = folder.File("model.yaml");
        File.WriteAllText(model, File.ReadAllText(Path.Combine(TestPaths.Root, "scenarios", "parcel", "model.yaml")).Replace("below: 520", "below: 1300", StringComparison.Ordinal));
        File.WriteAllText(folder.File("deaf.yaml"), File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", "virtual.yaml")).Replace("../scenarios/parcel/model.yaml", model, StringComparison.Ordinal));
        string used = rig == "virtual.yaml" ? "rigs/virtual.yaml" : folder.File(rig);

        var planned = JsonDocument.Parse(Hil.Run("accept", plan, "--rig", used, "--plan-only", "--json").Output).RootElement.GetProperty("claims")[0];
        Assert.That((planned.GetProperty("can_be_shown").GetBoolean(), planned.GetProperty("sequential").GetProperty("most_trials").GetInt32()), Is.EqualTo((true, 40)));
        var result = Hil.Run("accept", plan, "--rig", used, "--out", folder.File("runs"));
        Assert.That(result.Code, Is.EqualTo(code), result.Output + result.Errors);
        string batch = Directory.GetDirectories(folder.File("runs")).Single(), evidence = Path.Combine(batch, "evidence.html");
        // By hand from Wald 1947 with p0 0.03, p1 0.3, α 0.1, β 0.2: slope 0.124, h_a 0.572, so that 5 clean trials accept; h_r 0.791, so that a first trial that fails refuses. Lines drawn for
        // smaller risks need more.
        int runs = Directory.GetDirectories(batch).Length;
        Assert.That(runs, code == 0 ? Is.InRange(5, 8) : Is.InRange(1, 2));
        string text = File.ReadAllText(evidence);
        Assert.That(text, Does.Contain($">{outcome}<").And.Contain("None: all was played as planned").And.Contain("tested trial by trial (Wald").And.Contain("<polyline"));
        Assert.That(File.ReadAllText(Path.Combine(batch, "report.html")), Does.Contain($"ended after {runs} of 40 runs, as planned: ").And.Contain(why));
        File.Delete(evidence);
        Assert.That(Hil.Run("report", batch).Code, Is.Zero);
        Assert.That(File.ReadAllText(evidence), Is.EqualTo(text), "the same from what is stored");
    }

    [Test]
    public void ASequentialPlanSaysWhatItTakes()
    {
        using var folder = TestPaths.NewFolder();
        var enough = Hil.Run("accept", WriteSequential(folder, 40), "--rig", "rigs/virtual.yaml", "--plan-only");
        Assert.That(enough.Code, Is.Zero, enough.Errors);
        Assert.That(System.Text.RegularExpressions.Regex.Replace(enough.Output, @"\s+", " "), Does.Contain("5 without").And.Contain("can be decided, with 40 independent trials at the latest."));
        Assert.That(enough.Output.Split('\n').Where(l => l.Contains('─')).Max(l => l.Length), Is.LessThanOrEqualTo(80));
        var few = Hil.Run("accept", WriteSequential(folder, 4), "--rig", "rigs/virtual.yaml", "--plan-only");
        Assert.That(few.Code, Is.EqualTo(2));
        Assert.That(System.Text.RegularExpressions.Regex.Replace(few.Output, @"\s+", " "), Does.Match(@"4 independent trials cannot keep both risks\. Record \d+ more sources of conveyed\."));
        File.WriteAllText(folder.File("bad.yaml"),
            "acceptance: p\nhold: 0 s\nscenarios: [made-01.yaml]\nsequential: {good: 0.6}\nclaims:\n  - {measure: recognised, at_least: 0.7, confidence: 0.8}\n  - {measure: reaction, statistic: p95, at_most: 1 s, confidence: 0.8}\n");
        Assert.That(Hil.Run("accept", folder.File("bad.yaml"), "--rig", "rigs/virtual.yaml").Errors, Does.Contain("a claim on reaction in a sequential plan").And.Contain("good: 0.6").And.Contain("above that of every claim"));
    }

    private static string WriteSequential(TemporaryFolder folder, int trials)
    {
        for (int i = 1; i <= trials; i++)
        {
            File.WriteAllText(folder.File($"made-{i:00}.yaml"), FormattableString.Invariant($"scenario: made {i}\nstimulus: [{{synth: {{tone: {14 + i % 4} Hz, peak: 0.3 g, axis: z, for: 8 s, class: conveyed}}}}]\nlead: 3 s\nwithin: 4 s\nlimits: [{{measure: device_resets, at_most: 0}}]\n"));
        }
        string path = folder.File($"sequential-{trials}.yaml");
        File.WriteAllText(
            path, $"acceptance: belts\nhold: 0 s\nhearing_nothing: accepted\ndelivery: not shown is accepted\nscenarios: [{string.Join(", ", Enumerable.Range(1, trials).Select(i => $"made-{i:00}.yaml"))}]\nsequential: {{good: 0.97, risk: 0.1}}\nclaims:\n  - {{measure: recognised, class: conveyed, at_least: 0.7, confidence: 0.8}}\n");
        return path;
    }

    [Test]
    public void FaultsOfAPlanComeAllAtOnce()
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("plan.yaml"),
            "acceptance: p\nhold: 0 s\nscenarios: [none.yaml]\nclaims: [{measure: accuracy, at_least: 0.9, confidence: 0.9}]\nrepeats: 3\n");
        var result = Hil.Run("accept", folder.File("plan.yaml"), "--rig", "rigs/virtual.yaml");
        Assert.That(result.Code, Is.EqualTo(65));
        Assert.That(result.Errors, Does.Contain("plan.yaml:3:13: scenarios[0] is \"none.yaml\", which does not exist")
            .And.Contain("a confidence of accuracy in claims[0]").And.Contain("repeats"));
    }

    private static string WritePlan(TemporaryFolder folder, params string[] claims)
    {
        string scenarios = string.Join(", ", new[] { "morning", "belt", "drops", "handover" }.Select(s => Path.Combine(TestPaths.Root, "scenarios", "parcel", s + ".yaml")));
        File.WriteAllText(
            folder.File("plan.yaml"),
            $"acceptance: parcel tag\nhold: 0 s\ndelivery: not shown is accepted\nscenarios: [{scenarios}]\nclaims:\n{string.Concat(claims.Select(c => $"  - {c}\n"))}");
        return folder.File("plan.yaml");
    }
}
