using System.Globalization;
using System.Text;
using HilRunner.Fuzz.Tests.Mutations;
using HilRunner.Fuzz.Tests.Readers;
using HilRunner.Fuzz.Tests.Running;

namespace HilRunner.Fuzz.Tests;

/// <summary>
/// Damaged bytes for every reader of bytes from outside: accepted, or refused with a sentence; never another exception, above 300
/// MB, or above 10 s; no file outside touched, no program started, no control character said. How many: HIL_FUZZ (300; with
/// HIL_LONG=1 10 000); the first seed: HIL_FUZZ_SEED (1).
/// </summary>
[Platform("Linux")]
public class FuzzTests
{
    private static readonly SharedStock s_stock = SharedStock.Instance;
    private static readonly StringBuilder s_table = new();
    private static WorkerProcess? s_worker;

    private static IEnumerable<string> Readers => ReaderTable.All.Select(r => r.Name);

    [OneTimeSetUp]
    public static void Prepare() => s_worker = new(s_stock.Stock, s_stock.Folder);

    [OneTimeTearDown]
    public static void TearDown()
    {
        s_worker!.Dispose();
        TestContext.Progress.WriteLine(s_table);
    }

    [TestCaseSource(nameof(Readers))]
    public void Accepted_or_refused_with_a_sentence(string name)
    {
        bool isLong = Environment.GetEnvironmentVariable("HIL_LONG") == "1";
        int count = Number("HIL_FUZZ", isLong ? 10_000 : 300), first = Number("HIL_FUZZ_SEED", 1);
        var result = s_worker!.Read(name, first, count);
        string line = string.Create(CultureInfo.InvariantCulture,
            $"{name,-20} seeds {first} to {first + result.Cases - 1}: {result.Accepted,5} accepted, {result.Refused,5} refused, {result.WrongCount,4} wrong; {result.Seconds,5:0.0} s, slowest {result.Slowest:0.00} s, most allocated {result.MostAllocated / 1e6:0} MB, peak {result.Peak / 1e6:0} MB");
        s_table.AppendLine(line);
        TestContext.Out.WriteLine(line);
        Assert.Multiple(() =>
        {
            Assert.That(Told(name, result.Wrong), Is.Empty);
            Assert.That(result.WrongCount, Is.Zero);
            Assert.That(result.SeedsAccepted, Is.Positive, "good inputs");
            Assert.That(result.Cases, Is.EqualTo(count));
            Assert.That(result.Peak, Is.LessThan(Worker.MostBytes), "working set");
        });
    }

    /// <summary>What is wrong, and where the case is kept.</summary>
    private static string Told(string name, IReadOnlyList<WrongCase> wrong)
    {
        if (wrong.Count == 0) { return ""; }
        var reader = ReaderTable.Of(name);
        var seeds = reader.Seeds(s_stock.Stock).ToList();
        var told = new StringBuilder();
        foreach (var one in wrong)
        {
            string kept = Path.Combine(TestContext.CurrentContext.WorkDirectory, $"fuzz-{name.Replace(' ', '-')}-{one.Seed}");
            File.WriteAllBytes(kept, Mutator.Case(seeds, reader.Form, one.Seed));
            told.AppendLine(CultureInfo.InvariantCulture, $"seed {one.Seed}, {one.Place}; the case is kept as {kept}")
                .AppendLine(one.What);
        }
        return told.ToString();
    }

    private static int Number(string variable, int otherwise) =>
        Environment.GetEnvironmentVariable(variable) is { Length: > 0 } said
        ? int.Parse(said, CultureInfo.InvariantCulture) : otherwise;
}
