using HilRunner.Testing;

namespace HilRunner.Inspection.Tests;

/// <summary>The read-me's table of thresholds is made from the code. HIL_WRITE_GENERATED=1 writes it.</summary>
public class ReadmeTests
{
    private const string Begin = "<!-- thresholds: made from Thresholds.cs -->\n", End = "<!-- end of thresholds -->";

    [Test]
    public void The_table_of_thresholds_is_that_of_the_code()
    {
        string path = Path.Combine(TestPaths.Root, "src", "HilRunner.Inspection", "README.md");
        string text = File.ReadAllText(path);
        int from = text.IndexOf(Begin, StringComparison.Ordinal) + Begin.Length, to = text.IndexOf(End, StringComparison.Ordinal);
        Assert.That(from >= Begin.Length && to >= from, "the read-me holds both marks");
        if (Environment.GetEnvironmentVariable("HIL_WRITE_GENERATED") == "1")
        {
            File.WriteAllText(path, text[..from] + Thresholds.ToMarkdown() + text[to..]);
            return;
        }
        Assert.That(text[from..to], Is.EqualTo(Thresholds.ToMarkdown()), "run this test with HIL_WRITE_GENERATED=1");
    }

    [Test]
    public void Every_threshold_says_unit_reason_and_source() =>
        Assert.That(Thresholds.All.Where(t => t.Reason.Length < 10 || t.Source.Length == 0 || t.Name.Length == 0), Is.Empty);

    [Test]
    public void Every_check_has_its_line_in_the_readme()
    {
        string text = File.ReadAllText(Path.Combine(TestPaths.Root, "src", "HilRunner.Inspection", "README.md"));
        foreach (string check in Inspector.CheckNames) { Assert.That(text, Does.Contain($"| {check} |")); }
    }
}
