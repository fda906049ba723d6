using HilRunner.Emulated.Tests.Bench;
using HilRunner.Testing;

namespace HilRunner.Emulated.Tests.Running;

/// <summary>A rig of rigs/ with another image, built already.</summary>
internal static class RigFiles
{
    /// <param name="prepare">Steps in place of building it; "": none.</param>
    /// <param name="resets">Its reset button can be pressed while its link stays open: for one run at a time of an image.</param>
    public static string For(
        string image, string rig = "emulated", string model = "parcel", string prepare = "", bool resets = false)
    {
        string text = File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", rig + ".yaml"));
        string link = $"program: emulated/run, args: [{model}-lines.elf]";
        int steps = text.IndexOf("prepare:", StringComparison.Ordinal), after = text.IndexOf("before_each:", StringComparison.Ordinal);
        Assert.That(text, Does.Contain(link), $"rigs/{rig}.yaml starts the emulator in another way now");
        Assert.That(after, Is.GreaterThan(steps).And.GreaterThan(0), $"rigs/{rig}.yaml prepares in another way now");
        text = text[..steps] + prepare + text[after..];
        string path = Path.ChangeExtension(image, ".rig.yaml");
        string button = Path.ChangeExtension(image, ".button");
        string arguments = resets ? $"{image}, --control, {button}" : image;
        if (resets)
        {
            text += $"\nrecover: {{reset: [{{program: {Path.Combine(TestPaths.Root, "rigs/emulated/control")}, args: [{button}, reset]}}]}}\n";
        }
        File.WriteAllText(
            path, text.Replace(link, $"program: {Emulator.RunScript}, args: [{arguments}]", StringComparison.Ordinal));
        return path;
    }
}
