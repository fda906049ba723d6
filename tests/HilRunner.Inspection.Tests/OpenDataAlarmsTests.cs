using HilRunner.Inspection.Results;
using HilRunner.Testing;

namespace HilRunner.Inspection.Tests;

/// <summary>What is found in the open recordings stands in open-data-alarms.txt, each with its reason; list and reality are equal.</summary>
public class OpenDataAlarmsTests
{
    private static string ListPath => Path.Combine(TestPaths.Root, "tests", "HilRunner.Inspection.Tests", "open-data-alarms.txt");

    [Test]
    public void The_list_and_what_is_found_are_equal()
    {
        var found = OpenRecordings.All().SelectMany(r => Inspector.Inspect(r.Recording, r.Options).Findings
            .Select(f => $"{r.Name} | {f.Kind} | {FitnessWords.Of(f.Fitness)}"));
        Assert.That(found, Is.EquivalentTo(Listed().Select(l => string.Join(" | ", l.Take(3)))));
    }

    [Test]
    public void Every_alarm_has_a_reason() => Assert.That(Listed(), Has.All.Matches<string[]>(l => l.Length == 4 && l[3].Length > 10));

    private static List<string[]> Listed() =>
        [.. File.ReadLines(ListPath).Where(l => l.Length > 0 && l[0] != '#').Select(l => l.Split(" | "))];
}
