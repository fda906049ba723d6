using HilRunner.Core.Documents;
using HilRunner.Core.Rigs;

namespace HilRunner.Core.Scenarios;

/// <summary>Reads scenario files. Every fault of a file is reported at once; what the keys mean stands in scenarios/README.md.</summary>
public static class ScenarioFile
{
    /// <param name="path">The file; recordings in it keep their paths relative to it.</param>
    /// <param name="rig">When given, the outputs and classes that limits name must be the rig's.</param>
    /// <exception cref="BadInputException">The file cannot be read or used; holds every fault, with its place.</exception>
    public static Scenario Read(string path, Rig? rig = null) =>
        DocumentReader.Parse(ScenarioShape.Shape, DocumentReader.ReadText(path), path, check: (scenario, root, reading) =>
        {
            if (rig is not null) { CheckAgainst(rig, scenario, root, reading); }
        });

    /// <summary>From text that is kept in a stored run: the recordings need not be there.</summary>
    /// <param name="text">The YAML.</param>
    /// <param name="path">Where the text came from, for messages. It need not exist.</param>
    /// <exception cref="BadInputException">The text cannot be used; holds every fault, with its place.</exception>
    public static Scenario Parse(string text, string path) => DocumentReader.Parse(ScenarioShape.Shape, text, path, stored: true);

    private static void CheckAgainst(Rig rig, Scenario scenario, Node root, Reading reading)
    {
        var limits = scenario.Rules.Limits;
        for (int i = 0; i < limits.Count; i++)
        {
            if (limits[i].Output is { } output && !rig.Device.Outputs.Contains(output))
            {
                Refuse(root.At("limits", i, "output"), output, "output", rig.Device.Outputs);
            }
            var classes = ClassesOf(rig.Device, limits[i].Output);
            if (limits[i].Class is { } name && classes.Count > 0 && !classes.Contains(name))
            {
                Refuse(root.At("limits", i, "class"), name, "class", classes);
            }
        }

        void Refuse(Node at, string found, string what, IReadOnlyCollection<string> known)
        {
            string? near = EditDistance.Nearest(found, known);
            reading.Refuse(at, $"\"{found}\", which the rig {rig.Name} does not know", $"a {what} of its device: {string.Join(", ", known)}", near is null ? "" : $"did you mean {near}?");
        }
    }

    /// <summary>Empty: the device names its classes itself, so that any may be right.</summary>
    private static HashSet<string> ClassesOf(DeviceDescription device, string? output)
    {
        var maps = device.Says.Decisions.Where(d => output is null || d.Output == output).Select(d => d.Classes ?? device.Classes).ToList();
        return maps.Any(m => m.Count == 0) ? [] : [.. maps.SelectMany(m => m.Values)];
    }
}
