using HilRunner.Core.Recordings;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Tests.Documents;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Scenarios;

/// <summary>Foreign recordings, where they stand, and what is filled in.</summary>
internal sealed class ScenarioFormsTests
{
    private const string Open = """
        scenario: activity
        stimulus:
          - play: ${HIL_OPEN_DATA}/activity/acc_exp01_user01.txt
            rotate: {z: 90 deg, x: 3.14159265358979 rad}
            scale: 0.5
            format:
              separator: space
              columns: [ax, ay, az]
              rate: 50 Hz
              labels:
                path: ${HIL_OPEN_DATA}/activity/labels.txt
                separator: space
                columns: [exp, user, class, first, last]
                where: {exp: 1, user: 1}
                names: {1: walking, 4: sitting}
        """;

    private static IEnumerable<string> Examples => ExampleDocuments.Scenarios;

    [TestCaseSource(nameof(Examples))]
    public void An_example_reads(string file) => Assert.That(ScenarioFile.Parse(File.ReadAllText(Path.Combine(TestPaths.Root, file)), file).Steps, Is.Not.Empty);

    [Test]
    public void A_foreign_recording_is_described()
    {
        var play = (PlayStep)ScenarioFile.Parse(Open.Replace("${HIL_OPEN_DATA}", "open", StringComparison.Ordinal), "s.yaml").Steps[0];
        Assert.Multiple(() =>
        {
            Assert.That(play.Rotate.Select(r => r.Axis), Is.EqualTo(new[] { 'z', 'x' }));
            Assert.That(play.Rotate[1].Degrees, Is.EqualTo(180).Within(1e-9));
            Assert.That(play.Scale, Is.EqualTo(0.5));
            Assert.That(play.Format, Is.EqualTo(new ForeignFormat
            {
                Separator = "space",
                Columns = ["ax", "ay", "az"],
                Rate = new SampleRate(50_000),
                Labels = new("open/activity/labels.txt", "space", ["exp", "user", "class", "first", "last"])
                {
                    Where = new Dictionary<string, string> { ["exp"] = "1", ["user"] = "1" },
                    Names = new Dictionary<string, string> { ["1"] = "walking", ["4"] = "sitting" },
                },
            }).UsingPropertiesComparer());
        });
    }

    [Test]
    public void Absent_parts_take_the_defaults_of_the_records() =>
        Assert.That(ScenarioFile.Parse("scenario: s\nstimulus: [{play: a.csv}]\n", "s.yaml"),
            Is.EqualTo(new Scenario { Name = "s", Steps = [new PlayStep("a.csv")] }).UsingPropertiesComparer());

    [Test, NonParallelizable]
    public void Open_recordings_are_found_by_variable_then_beside_the_checkout_then_not_at_all()
    {
        string? before = Environment.GetEnvironmentVariable("HIL_OPEN_DATA");
        using var folder = TestPaths.NewFolder();
        string scenarios = Directory.CreateDirectory(folder.File("checkout/scenarios/open")).FullName, file = Path.Combine(scenarios, "s.yaml");
        File.WriteAllText(file, Open);
        try
        {
            Environment.SetEnvironmentVariable("HIL_OPEN_DATA", "/data/open");
            Assert.That(PathOf(ScenarioFile.Read(file)), Is.EqualTo("/data/open/activity/acc_exp01_user01.txt"));
            Environment.SetEnvironmentVariable("HIL_OPEN_DATA", null);
            var faults = Assert.Throws<BadInputException>(() => ScenarioFile.Read(file))!.Faults;
            Assert.That(faults.Select(f => (f.Line, f.Remedy)), Is.EqualTo(new[]
            {
                (3, "set the environment variable HIL_OPEN_DATA to it"), (11, "set the environment variable HIL_OPEN_DATA to it"),
            }));
            Assert.That(PathOf(ScenarioFile.Parse(Open, file)), Is.EqualTo("${HIL_OPEN_DATA}/activity/acc_exp01_user01.txt"), "a stored run needs no recordings");
            File.WriteAllText(folder.File("checkout/HilRunner.sln"), "");
            Directory.CreateDirectory(folder.File("shared/data"));
            Assert.That(PathOf(ScenarioFile.Read(file)), Is.EqualTo(folder.File("shared/data/activity/acc_exp01_user01.txt")));
        }
        finally
        {
            Environment.SetEnvironmentVariable("HIL_OPEN_DATA", before);
        }
    }

    [TestCase("${HOME}/a.csv")]
    [TestCase("x/${HIL_OPEN_DATA}/a.csv")]
    [TestCase("${HIL_OPEN_DATA}/${HIL_OPEN_DATA}/a.csv")]
    public void No_other_variable_is_expanded(string path) =>
        Assert.That(Assert.Throws<BadInputException>(() => ScenarioFile.Parse($"scenario: s\nstimulus: [{{play: \"{path}\"}}]\n", "s.yaml"))!.Message,
            Does.Contain("expected ${HIL_OPEN_DATA}/ at the start as the only variable"));

    private static string PathOf(Scenario scenario) => ((PlayStep)scenario.Steps[0]).Path;
}
