using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>Short scenarios of made motion, each a trial of its own.</summary>
internal static class MadeBelts
{
    /// <summary>Writes part-1.yaml … and suite.yaml, which plays them all.</summary>
    /// <param name="repeats">Of the suite.</param>
    public static void Write(TemporaryFolder folder, int scenarios, int repeats = 1)
    {
        for (int i = 1; i <= scenarios; i++)
        {
            File.WriteAllText(folder.File($"part-{i}.yaml"), FormattableString.Invariant($"scenario: part {i}\nstimulus: [{{synth: {{tone: {13 + i} Hz, peak: 0.3 g, axis: z, for: 6 s, class: conveyed}}}}]\nlead: 3 s\nwithin: 4 s\nlimits: [{{measure: missed, at_most: 0}}]\n"));
        }
        File.WriteAllText(folder.File("suite.yaml"), $"suite: belts\nscenarios: [part-*.yaml]\nrepeats: {repeats}\nlimits: [{{measure: recognised, class: conveyed, at_least: 0.7, confidence: 0.9}}]\n");
    }
}
