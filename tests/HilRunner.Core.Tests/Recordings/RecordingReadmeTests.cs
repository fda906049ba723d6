using System.Text.RegularExpressions;
using HilRunner.Core.Recordings;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Recordings;

public class RecordingReadmeTests
{
    /// <summary>The files that the README shows, read as they stand there.</summary>
    [Test]
    public void The_example_reads_as_it_says()
    {
        string readme = File.ReadAllText(Path.Combine(TestPaths.Root, "src", "HilRunner.Core", "Recordings", "README.md"));
        using var folder = TestPaths.NewFolder();
        foreach (Match block in Regex.Matches(readme, @"^```\w+ (\S+)\n(.*?)^```", RegexOptions.Multiline | RegexOptions.Singleline))
        {
            File.WriteAllText(folder.File(block.Groups[1].Value), block.Groups[2].Value);
        }
        var recording = RecordingFile.Read(folder.File("depot-morning.csv"));
        Assert.That(recording.Rate, Is.EqualTo(new SampleRate(50_000)));
        Assert.That(recording.SampleCount, Is.EqualTo(4));
        Assert.That(recording.Labels.Select(l => l.Class), Is.EqualTo(["resting", "carried"]));
        Assert.That(recording.Info, Is.EqualTo(new RecordingInfo
        {
            Rate = new(50_000), RangeG = 8, Source = "courier 3", Mounting = "inside the lid, x along the long side",
            Provenance = "made up for this page", Licence = "MIT", Invented = true,
        }));
    }
}
