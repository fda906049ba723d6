using HilRunner.Emulated.Tests.Bench;
using HilRunner.Testing;

namespace HilRunner.Emulated.Tests.Running;

/// <summary>A rig of rigs/ with another image, built already.</summary>
internal static class RigFiles
{
    /// <param name="prepare">Steps in place of building it; "": none.</param>
    public static string For(string image, string rig = "emulated", string model = "parcel", string prepare = "")
    {
        string text = File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", rig + ".yaml"));
        string link = $"program: emulated/run, args: [{model}-lines.elf]";
        int steps = text.IndexOf("prepare:", StringComparison.Ordinal), after = text.IndexOf("before_each:", StringComparison.Ordinal);
        Assert.That(text, Does.Contain(link), $"rigs/{rig}.yaml starts the emulator in another way now");
        Assert.That(after, Is.GreaterThan(steps).And.GreaterThan(0), $"rigs/{rig}.yaml prepares in another way now");
        text = text[..steps] + prepare + text[after..];
        string path = Path.ChangeExtension(image, ".rig.yaml");
        File.WriteAllText(path, text.Replace(link, $"program: {Emulator.RunScript}, args: [{image}]", StringComparison.Ordinal));
        return path;
    }
}
