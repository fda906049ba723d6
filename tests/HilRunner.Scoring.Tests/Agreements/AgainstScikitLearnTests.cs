using System.Diagnostics;
using System.Text.Json;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Scoring.Tests.Agreements;

/// <summary>
/// Time-weighted figures against scikit-learn, run live: each stretch of one reference and one observed class is a sample whose
/// weight is its duration.
/// </summary>
[TestFixture]
internal sealed class AgainstScikitLearnTests
{
    private const int Seed = 20261125;
    private const int Timelines = 200;

    private const string Script = """
        import sys, json, math, warnings
        import sklearn.metrics as m
        warnings.simplefilter("ignore")
        out = []
        for case in json.load(sys.stdin):
            y, p, w = case["y"], case["p"], [float(ns) for ns in case["w"]]
            labels = sorted(set(y))
            prec, rec, f1, _ = m.precision_recall_fscore_support(y, p, labels=labels, sample_weight=w, zero_division=0)
            kappa = float(m.cohen_kappa_score(y, p, sample_weight=w))
            out.append({
                "accuracy": float(m.accuracy_score(y, p, sample_weight=w)),
                "balanced": float(m.balanced_accuracy_score(y, p, sample_weight=w)),
                "kappa": None if math.isnan(kappa) else kappa,
                "mcc": float(m.matthews_corrcoef(y, p, sample_weight=w)),
                "labels": labels, "precision": list(map(float, prec)), "recall": list(map(float, rec)), "f1": list(map(float, f1))})
        json.dump(out, sys.stdout)
        """;

    [Test]
    public void FiguresAgree()
    {
        TestContext.Out.WriteLine($"seed {Seed}");
        var random = new Random(Seed);
        var cases = Enumerable.Range(0, Timelines).Select(_ => Draw(random)).ToList();
        var answers = Ask(cases.Select(c => new
        {
            y = c.Where(p => p.Reference is not null).Select(p => p.Reference),
            p = c.Where(p => p.Reference is not null).Select(p => p.Observed),
            w = c.Where(p => p.Reference is not null).Select(p => p.Ns),
        }));
        int undefined = 0;
        for (int i = 0; i < cases.Count; i++)
        {
            var ours = Inputs.One(AsInput(cases[i])).Strict;
            var theirs = answers[i];
            string at = $"timeline {i} of seed {Seed}";
            Assert.That(ours.Accuracy, Is.EqualTo(theirs.GetProperty("accuracy").GetDouble()).Within(1e-12), at);
            Assert.That(ours.BalancedAccuracy, Is.EqualTo(theirs.GetProperty("balanced").GetDouble()).Within(1e-12), at);
            if (ours.Kappa is null)
            {
                undefined++;
                Assert.That(theirs.GetProperty("kappa").ValueKind, Is.EqualTo(JsonValueKind.Null), at);
            }
            else
            {
                Assert.That(ours.Kappa, Is.EqualTo(theirs.GetProperty("kappa").GetDouble()).Within(1e-12), at);
            }
            // The library gives 0 where the coefficient is undefined.
            Assert.That(ours.Mcc ?? 0, Is.EqualTo(theirs.GetProperty("mcc").GetDouble()).Within(1e-9), at);
            Assert.That(ours.PerClass.Keys, Is.EqualTo(theirs.GetProperty("labels").EnumerateArray().Select(l => l.GetString())), at);
            Compare(ours, c => c.Precision, theirs, "precision", at);
            Compare(ours, c => c.Recall, theirs, "recall", at);
            Compare(ours, c => c.F1, theirs, "f1", at);
        }
        TestContext.Out.WriteLine($"{Timelines} timelines, kappa undefined in {undefined}");
    }

    private static void Compare(Agreement ours, Func<ClassAgreement, double?> figure, JsonElement theirs, string name, string at) =>
        Assert.That(
            ours.PerClass.Values.Select(c => figure(c) ?? 0),
            Is.EqualTo(theirs.GetProperty(name).EnumerateArray().Select(v => v.GetDouble())).Within(1e-12), $"{name}, {at}");

    private sealed record Piece(string? Reference, string Observed, long Ns);

    private static List<Piece> Draw(Random random)
    {
        string[] classes = ["resting", "carried", "conveyed", "dropped"];
        int known = random.Next(1, 5);
        int silent = random.Next(0, 3);
        var pieces = new List<Piece>();
        for (int i = 0, n = random.Next(1, 40); i < n; i++)
        {
            string? reference = i > 0 && random.Next(8) == 0 ? null : classes[random.Next(known)];
            string observed = i < silent ? "(none)"
                : reference is not null && random.Next(2) == 0 ? reference
                : random.Next(12) == 0 ? "unheard of" : classes[random.Next(known)];
            pieces.Add(new(reference, observed, random.NextInt64(1, 60_000_000_000)));
        }
        return pieces;
    }

    private static ScoreInput AsInput(List<Piece> pieces)
    {
        var reference = new List<ReferenceInterval>();
        var decisions = new List<Decision>();
        long at = 0;
        foreach (var piece in pieces)
        {
            if (piece.Reference is not null) { reference.Add(new(new(at), new(at + piece.Ns), piece.Reference)); }
            if (piece.Observed != "(none)") { decisions.Add(new(new(at), piece.Observed)); }
            at += piece.Ns;
        }
        return new() { Reference = reference, Decisions = decisions, End = new StimulusTime(at) };
    }

    private static List<JsonElement> Ask(object cases)
    {
        var start = new ProcessStartInfo("/usr/bin/python3", ["-c", Script]) { RedirectStandardInput = true, RedirectStandardOutput = true };
        using var python = Process.Start(start)!;
        JsonSerializer.Serialize(python.StandardInput.BaseStream, cases);
        python.StandardInput.Close();
        string output = python.StandardOutput.ReadToEnd();
        python.WaitForExit();
        Assert.That(python.ExitCode, Is.Zero, "python3-sklearn is needed for this test");
        return [.. JsonDocument.Parse(output).RootElement.EnumerateArray()];
    }
}
