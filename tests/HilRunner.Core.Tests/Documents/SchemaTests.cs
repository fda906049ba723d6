using System.Text;
using System.Text.Json;
using CsCheck;
using HilRunner.Core.Documents;
using HilRunner.Core.Generated;
using HilRunner.Core.Recordings.Import;
using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Tests.Recordings.Import;
using HilRunner.Core.Tests.Rigs;
using HilRunner.Core.Tests.Scenarios;
using HilRunner.Core.Tests.Signals.Transforms;
using HilRunner.Testing;
using Json.Schema;

namespace HilRunner.Core.Tests.Documents;

/// <summary>The schemas against an independent validator (JsonSchema.Net, draft 2020-12), and against the reader.</summary>
internal sealed class SchemaTests
{
    private static readonly Dictionary<string, JsonSchema> Schemas = new[] { "rig", "scenario", "suite", "import" }
        .ToDictionary(d => d, d => JsonSchema.FromText(GeneratedFiles.Schema(d)));

    private const string ForeignScenario = """
        scenario: walked
        stimulus:
          - play: walk.txt
            scale: 1.5
            format:
              separator: space
              header: false
              columns: [ax, ay, az, _]
              acceleration: mg
              gyro: rad/s
              rate: 50 Hz
              labels:
                path: labels.txt
                separator: space
                columns: [exp, user, class, first, last]
                where: {exp: 1, user: 1}
                first_index: 1
                names: {1: walking, 4: sitting}
        """;

    private const string Varied = """
        scenario: turned
        stimulus: [{play: a.csv}]
        vary:
          grid:
            rotate: {x: 0 deg to 30 deg by 7.5 deg, z: [0 deg, 90 deg]}
            scale: 0.8 to 1.2 by 0.2
            offset: {ax: [0 mg, 20 mg]}
            stretch: [0.9, 1.1]
            noise: 0 mg to 20 mg by 20 mg
        """;

    private const string Suite = """
        suite: nightly
        scenarios: [one.yaml]
        repeats: 3
        order: shuffled
        seed: 7
        limits: [{measure: recognised, class: carried, at_least: 90 %, confidence: 0.95}]
        """;

    private static IEnumerable<TestCaseData> Documents()
    {
        yield return new("rig", RigFileTests.Bench);
        yield return new("scenario", ScenarioFileTests.CarriedThenDropped);
        yield return new("scenario", ForeignScenario);
        yield return new("scenario", TransformedStimulusTests.Everything);
        yield return new("suite", Suite);
        yield return new("import", ImportMapTests.Everything);
        foreach (string map in Directory.GetFiles(Path.Combine(TestPaths.Root, "scenarios", "open-data", "maps"), "*.yaml")) { yield return new("import", File.ReadAllText(map)); }
        foreach (string rig in ExampleDocuments.Rigs) { yield return new("rig", File.ReadAllText(Path.Combine(TestPaths.Root, rig))); }
        foreach (string scenario in ExampleDocuments.Scenarios) { yield return new("scenario", File.ReadAllText(Path.Combine(TestPaths.Root, scenario))); }
        foreach (string suite in ExampleDocuments.Suites) { yield return new("suite", File.ReadAllText(Path.Combine(TestPaths.Root, suite))); }
    }

    [TestCaseSource(nameof(Documents))]
    public void The_schema_accepts_a_good_document(string kind, string text) => Assert.That(IsValid(kind, Tree(text)), text);

    [TestCase("rig", "rigs/serial-binary.yaml")]
    [TestCase("rig", "")]
    [TestCase("scenario", "")]
    [TestCase("foreign", "")]
    [TestCase("transformed", "")]
    [TestCase("varied", "")]
    [TestCase("suite", "")]
    [TestCase("import", "")]
    public void What_the_schema_refuses_the_reader_refuses(string kind, string file)
    {
        string good = file.Length > 0 ? File.ReadAllText(Path.Combine(TestPaths.Root, file))
            : kind switch { "rig" => RigFileTests.Bench, "suite" => Suite, "import" => ImportMapTests.Everything, "foreign" => ForeignScenario, "transformed" => TransformedStimulusTests.Everything, "varied" => Varied, _ => ScenarioFileTests.CarriedThenDropped };
        string document = kind is "foreign" or "transformed" or "varied" ? "scenario" : kind;
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("one.yaml"), ScenarioFileTests.CarriedThenDropped);
        Node root = Tree(good);
        int refused = 0, accepted = 0;
        Gen.Int.Sample(seed =>
        {
            string text = NodeMutation.Mutate(root, new Random(seed));
            if (YamlTree.Read(text, new DocumentFaults("mutant")) is not { } mutant) { return; }
            bool schemaAccepts = IsValid(document, mutant), readerAccepts = Reads(document, text, folder.Path);
            if (readerAccepts) { Interlocked.Increment(ref accepted); } else { Interlocked.Increment(ref refused); }
            if (readerAccepts && !schemaAccepts) { throw new InvalidOperationException($"the reader accepts what the schema refuses:\n{text}"); }
        }, iter: 3_000);
        Assert.Multiple(() =>
        {
            Assert.That(refused, Is.GreaterThan(100), "mutants that are bad");
            Assert.That(accepted, Is.GreaterThan(50), "mutants that are good");
        });
    }

    private static bool IsValid(string kind, Node root)
    {
        using var json = JsonDocument.Parse(Encoding.UTF8.GetBytes(NodeJson.Of(root)?.ToJsonString() ?? "null"));
        return Schemas[kind].Evaluate(json.RootElement).IsValid;
    }

    private static Node Tree(string text) => YamlTree.Read(text, new DocumentFaults("document"))!;

    private static bool Reads(string kind, string text, string folder)
    {
        try
        {
            string path = Path.Combine(folder, "document.yaml");
            switch (kind)
            {
                case "rig": RigFile.Parse(text, path); break;
                case "scenario": ScenarioFile.Parse(text, path); break;
                case "import": DocumentReader.Parse(ImportMapShape.Shape, text, path); break;
                default: DocumentReader.Parse(SuiteShape.Shape, text, path); break;
            }
            return true;
        }
        catch (BadInputException)
        {
            return false;
        }
    }
}
